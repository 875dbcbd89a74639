import { v7 as uuid } from 'uuid';
import { type Day, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import {
  type FactInput,
  getForWrite,
  insertLotChange,
  type NewAnimal,
  readFacts,
  recordFact,
} from './animal-write.store.js';
import { type Fact, project } from '../core/fact.core.js';
import {
  decideFound,
  decideGone,
  decideJoin,
  decideLoss,
  decideRecount,
  joinedBirth,
  type LotLoss,
} from '../core/lot.core.js';
import { insertAnimals } from './insert-animals.store.js';
import { applyProjection } from './animal-write.store.js';
import { inheritFacts, moveCount } from './lot-write.store.js';

/** How the count of a lot changes without another record. A death goes through `loseFromLotRecord`. */
export type LotRevision =
  | { readonly kind: 'gone'; readonly cause: Exclude<LotLoss, 'died'>; readonly count: number }
  | { readonly kind: 'found'; readonly count: number }
  | { readonly kind: 'recount'; readonly count: number; readonly estimated: boolean; readonly reason: string };

type At = { readonly lotId: string; readonly on: Day; readonly keeperId: string };

/** Changes the count of a locked lot. Gives what is left and by how much it changed. Refuses as the decisions of lot.core. */
export async function changeLotRecord(
  tx: Tx,
  { lotId, on, keeperId }: At,
  change: LotRevision,
): Promise<Decision<{ left: number; delta: number }>> {
  const lot = await getForWrite(tx, lotId);
  const left =
    change.kind === 'gone'
      ? decideGone(lot, change.count)
      : change.kind === 'found'
        ? decideFound(lot, change.count, await countAway(tx, lotId))
        : mapLeft(decideRecount(lot, change.count, change.estimated), lot.count);
  if (!left.ok) return left;
  const delta = left.value.left - lot.count;
  await insertLotChange(tx, {
    lotId,
    cause: change.kind === 'gone' ? change.cause : change.kind === 'found' ? 'found' : 'corrected',
    delta,
    on,
    estimated: change.kind === 'recount' && change.estimated,
    keeperId,
    ...(change.kind === 'recount' ? { reason: change.reason } : {}),
  });
  await moveCount(tx, lotId, left.value.left);
  if (change.kind === 'recount')
    await tx.db.animal.update({ where: { id: lotId }, data: { countEstimated: change.estimated } });
  return decide({ left: left.value.left, delta });
}

function mapLeft(decision: Decision<{ delta: number }>, count: number): Decision<{ left: number }> {
  return decision.ok ? decide({ left: count + decision.value.delta }) : decision;
}

/** How many of a lot are recorded as gone and not found again. */
async function countAway(tx: Tx, lotId: string): Promise<number> {
  const { _sum } = await tx.db.lotChange.aggregate({
    where: { lotId, supersededAt: null, cause: { in: ['missing', 'stolen', 'escaped', 'found'] } },
    _sum: { delta: true },
  });
  return -(_sum.delta ?? 0);
}

/**
 * Puts all of one locked lot into another. What the two say differently of birth and origin becomes a span, or unknown; which of
 * both changed is given back. Custody, ownership and parentage are the caller's. Refuses as `decideJoin`.
 */
export async function joinLotRecords(
  tx: Tx,
  join: { readonly fromId: string; readonly intoId: string; readonly on: Day; readonly keeperId: string },
): Promise<Decision<{ count: number; changed: ('birth' | 'origin')[] }>> {
  const { fromId, intoId, on, keeperId } = join;
  const [from, into] = [await getForWrite(tx, fromId), await getForWrite(tx, intoId)];
  const possible = decideJoin(from, into);
  if (!possible.ok) return possible;
  const { count } = from;
  const at = { on, keeperId, estimated: from.countEstimated };
  await insertLotChange(tx, { ...at, lotId: fromId, cause: 'joined_out', delta: -count, counterpartId: intoId });
  await insertLotChange(tx, { ...at, lotId: intoId, cause: 'joined_in', delta: count, counterpartId: fromId });
  await moveCount(tx, fromId, 0);
  await moveCount(tx, intoId, into.count + count);
  const data = {
    ...(from.countEstimated ? { countEstimated: true } : {}),
    ...(from.declaredFounder ? {} : { declaredFounder: false }),
  };
  await tx.db.animal.update({ where: { id: intoId }, data });
  const changed: ('birth' | 'origin')[] = [];
  for (const fact of mixedFacts(await readFacts(tx, fromId), await readFacts(tx, intoId))) {
    await recordFact(tx, intoId, keeperId, { ...fact, reason: 'Joined with another lot.' });
    if (fact.fact.kind === 'birth' || fact.fact.kind === 'origin') changed.push(fact.fact.kind);
  }
  return decide({ count, changed });
}

/** What has to be said anew of the lot that takes another in. */
function mixedFacts(from: readonly Fact[], into: readonly Fact[]): FactInput[] {
  const [a, b] = [project(from), project(into)];
  const when = joinedBirth(a.birth, b.birth);
  const manner = a.birthManner === b.birthManner ? b.birthManner : 'unknown';
  const sameBirth = a.birth?.edtf === b.birth?.edtf && a.birthManner === b.birthManner;
  return [
    ...(sameBirth ? [] : [{ fact: { kind: 'birth' as const, body: { manner } }, when }]),
    ...(a.originClass === b.originClass
      ? []
      : [{ fact: { kind: 'origin' as const, body: { originClass: 'unknown' as const } }, when: null }]),
  ];
}

/** One animal raised out of a lot: what is known of it alone. */
export type RaisedAnimal = Pick<NewAnimal, 'marks' | 'facts'>;

/**
 * Takes animals out of a locked lot into records of their own: taxon, line, birth, origin and acquisition are the lot's. Gives
 * their ids and what is left. Custody, ownership, access and parentage are the caller's. Refuses as `decideLoss`.
 */
export async function raiseRecords(
  tx: Tx,
  { lotId, on, keeperId }: At,
  animals: readonly RaisedAnimal[],
): Promise<Decision<{ ids: string[]; left: number }>> {
  const lot = await getForWrite(tx, lotId);
  const possible = decideLoss(lot, animals.length);
  if (!possible.ok) return possible;
  const { left } = possible.value;
  const made = animals.map((animal) => ({
    ...animal,
    id: uuid(),
    kind: 'individual' as const,
    taxonId: lot.taxonId,
    lineId: lot.lineId,
    count: 1,
    countEstimated: false,
    declaredFounder: lot.declaredFounder,
    keeperId,
    on,
  }));
  const ids = made.map(({ id }) => id);
  await insertAnimals(tx, made);
  await inheritFacts(tx, lotId, ids);
  for (const id of ids) {
    await applyProjection(tx, id);
    await insertLotChange(tx, { lotId, cause: 'raised_out', delta: -1, on, counterpartId: id, keeperId });
  }
  await moveCount(tx, lotId, left);
  return decide({ ids, left });
}
