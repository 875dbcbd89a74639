import { v7 as uuid } from 'uuid';
import { openAccessSince, toDateColumn } from '../../access/index.js';
import { insertAnimals, type NewAnimal, reviewMarkConflicts } from '../../animal/index.js';
import { type Day, type RegisterNumber, ruleRefused } from '../../kernel/index.js';
import { mayHave, standingOf } from '../../membership/index.js';
import { addAllToLineage, type ClaimInput } from '../../lineage/index.js';
import { insertRows, type Tx } from '../../platform/prisma/index.js';
import { type Arrival, type Departure, type Holder, type OwnerShare } from '../core/holder.core.js';
import { holderColumns, holderGrants } from './custody-write.store.js';
import { ownerGrants } from './ownership-write.store.js';

/** One of many new records, with everything that has to exist from its first moment, under an id the caller drew. */
export type StockToRegister = {
  readonly id: string;
  readonly animal: NewAnimal;
  /** May name records of the same call. */
  readonly parents: readonly ClaimInput[];
  readonly holder: Holder;
  readonly from: Day;
  readonly arrivedBy: Arrival;
  /** The day and way in which the period ended, where the animal is gone already; its last holder keeps full access. */
  readonly ended: { readonly on: Day; readonly leftBy: Departure } | null;
  /** Nobody, where it is not known whose it is. */
  readonly owners: readonly OwnerShare[];
};

/**
 * Registers many animals and lots of one taxon with holders, owners, access and pedigree, in a number of statements that
 * does not grow with them. Gives the register numbers in the same order. The caller
 * has made sure that parents pass `decideParent` and close no cycle. Throws RULE_REFUSED TAXON_DANGEROUS, here where every way of
 * registering comes through. Writes no ledger entry: that is the use case's.
 */
export async function registerAllStock(
  tx: Tx,
  taxonId: string,
  stock: readonly StockToRegister[],
): Promise<RegisterNumber[]> {
  await requireAllowed(tx, taxonId, stock);
  const numbers = await insertAnimals(
    tx,
    stock.map(({ id, animal }) => ({ ...animal, taxonId, id })),
  );
  const periods = stock.map(({ id, animal, holder, from, ended, arrivedBy }) => ({
    id: uuid(),
    animalId: id,
    ...holderColumns(holder),
    validFrom: toDateColumn(from),
    validTo: ended === null ? null : toDateColumn(ended.on),
    arrivedBy,
    leftBy: ended?.leftBy ?? null,
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? animal.keeperId,
  }));
  await insertRows(tx.db, 'custody', periods);
  const owned = stock.filter(({ owners }) => owners.length > 0).map((each) => ({ ...each, ownershipId: uuid() }));
  const titles = owned.map(({ ownershipId, id, animal, from }) => ({
    id: ownershipId,
    animalId: id,
    validFrom: toDateColumn(from),
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? animal.keeperId,
  }));
  await insertRows(tx.db, 'ownership', titles);
  const shares = owned.flatMap(({ ownershipId, owners }) =>
    owners.map(({ owner, parts }) => ({
      id: uuid(),
      ownershipId,
      keeperId: owner.kind === 'keeper' ? owner.keeperId : null,
      outsidePartyId: owner.kind === 'outside_party' ? owner.outsidePartyId : null,
      parts,
    })),
  );
  await insertRows(tx.db, 'ownershipShare', shares);
  await openAccessSince(
    tx,
    stock.flatMap(({ id, holder, owners, from }) =>
      [...holderGrants(id, holder), ...ownerGrants(id, owners)].map((grant) => ({ ...grant, from })),
    ),
  );
  await addAllToLineage(
    tx,
    taxonId,
    stock.map(({ id, parents }) => ({ id, claims: parents })),
  );
  const marked = stock.filter(({ animal }) => animal.marks.length > 0);
  if (marked.length > 0)
    await reviewMarkConflicts(
      tx,
      marked.map(({ id }) => id),
    );
  return numbers;
}

/** A minor's keeper is given no animal of a dangerous taxon that it would have today. */
async function requireAllowed(tx: Tx, taxonId: string, stock: readonly StockToRegister[]): Promise<void> {
  const taxon = await tx.db.taxon.findUniqueOrThrow({ where: { id: taxonId }, select: { dangerous: true } });
  if (!taxon.dangerous) return;
  const here = stock.filter(({ ended }) => ended === null);
  const keeperIds = new Set(here.flatMap(({ holder }) => (holder.kind === 'keeper' ? [holder.keeperId] : [])));
  for (const standing of (await standingOf(tx, [...keeperIds])).values()) {
    const may = mayHave(standing, taxon);
    if (!may.ok) throw ruleRefused(may.refusal);
  }
}
