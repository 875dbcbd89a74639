import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { recordPastAccess } from '../../access/index.js';
import { type FactInput, type Mark, requestOriginRecheck } from '../../animal/index.js';
import { registerAllStock, type StockToRegister } from '../../custody/index.js';
import {
  actsFor,
  type Day,
  decide,
  type Decision,
  invalidInput,
  notFound,
  parseEdtf,
  refuse,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { decideParent, type KinFacts } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { insertTaxon } from '../../taxon/index.js';
import { QUARANTINE } from '../app/register-pedigree.js';
import { findEarlierLoad, findTaxonId } from '../store/club.store.js';
import { readPack, type RecordPack } from './record-pack.schema.js';
import { ensureLine } from './record-pack.store.js';

const packRegistered = defineLedgerAction(
  'exchange.pack-registered',
  1,
  z.strictObject({
    keeperId: z.uuid(),
    contentHash: z.string().length(64),
    taxonId: z.uuid(),
    animalIds: z.array(z.uuid()),
    ancestors: z.int(),
  }),
);

const outcome = z.object({
  animals: z.array(z.strictObject({ ref: z.string(), animalId: z.uuid(), registerNumber: z.string() })),
});

/** Registers the animals of a record pack of another registry, with their ancestors, in one transaction: all or nothing. */
@Injectable()
export class RegisterFromPack {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * The animals come to the keeper today; their old register numbers are kept as marks `own_number`. Ancestors become records
   * that nobody holds, and that the keeper reads. NOT_FOUND for a keeper the viewer does not act for; INVALID_INPUT as
   * `readPack` says; RULE_REFUSED PEDIGREE_ALREADY_REGISTERED, DAY_IN_FUTURE, LINEAGE_*.
   */
  async execute(viewer: Viewer, keeperId: string, input: unknown): Promise<z.infer<typeof outcome>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const pack = readPack(input);
    const scientificName = checkContents(pack);
    const write = { action: 'exchange.register-pack', input: { keeperId, contentHash: pack.contentHash }, outcome };
    return this.uow.write(viewer, write, async (tx) => {
      await tx.db.$queryRaw`SELECT id FROM keeper WHERE id = ${keeperId}::uuid FOR NO KEY UPDATE`;
      const earlier = await findEarlierLoad(tx, packRegistered.name, keeperId, pack.contentHash);
      if (earlier !== null) {
        return refuse('PEDIGREE_ALREADY_REGISTERED', `This pack was registered on ${earlier}. Nothing was written.`);
      }
      const taxonId = await ensureTaxon(tx, scientificName, pack);
      const planned = await planPack(tx, pack, taxonId, keeperId);
      if (!planned.ok) return planned;
      const stock = planned.value;
      const numbers = await registerAllStock(tx, taxonId, stock);
      const own = stock.slice(0, pack.animals.length);
      for (const { id } of stock.slice(own.length)) {
        await recordPastAccess(
          tx,
          { animalId: id, keeperId, relation: 'holder' },
          { from: tx.today, to: tx.today },
          tx.now,
        );
      }
      const animals = own.map(({ id }, i) => ({
        ref: pack.animals[i]?.ref ?? '',
        animalId: id,
        registerNumber: numbers[i] ?? '',
      }));
      const animalIds = own.map(({ id }) => id);
      await tx.ledger.append(packRegistered, {
        subjects: [keeperId, ...stock.map(({ id }) => id)],
        body: { keeperId, contentHash: pack.contentHash, taxonId, animalIds, ancestors: pack.ancestors.length },
      });
      await requestOriginRecheck(tx, animalIds);
      return decide({ animals });
    });
  }
}

/** What a pack may say and a registry cannot take in. Gives the one taxon of all. */
function checkContents(pack: RecordPack): string {
  const [first] = pack.animals;
  const scientificName = first?.taxon.scientificName ?? '';
  const wrong = (path: string, message: string, remedy: string) => invalidInput([{ path, message, remedy }]);
  pack.animals.forEach(({ taxon, facts, kind, count }, i) => {
    if (taxon.scientificName !== scientificName)
      throw wrong(`animals.${i}.taxon`, 'Animals of several taxa.', 'Hand over one taxon at a time.');
    const fate = facts.findLast((fact) => fact.kind === 'fate');
    if ((fate?.kind === 'fate' && fate.body.fate !== 'alive') || count === 0 || (kind === 'individual' && count !== 1))
      throw wrong(`animals.${i}.count`, 'It is not one living animal or a lot of some.', 'Register it by hand.');
  });
  pack.ancestors.forEach((ancestor, i) => {
    if (ancestor.scientificName !== scientificName)
      throw wrong(`ancestors.${i}.scientificName`, 'An ancestor of another taxon.', 'Register the animal by hand.');
  });
  return scientificName;
}

async function ensureTaxon(tx: Tx, scientificName: string, pack: RecordPack): Promise<string> {
  const known = await findTaxonId(tx, scientificName);
  const [first] = pack.animals;
  if (known !== null || first === undefined) return known ?? '';
  const { commonName, className, orderName, nameSource } = first.taxon;
  return (await insertTaxon(tx, { scientificName, commonName, className, orderName, nameSource, ...QUARANTINE }, []))
    .id;
}

async function planPack(
  tx: Tx,
  pack: RecordPack,
  taxonId: string,
  keeperId: string,
): Promise<Decision<StockToRegister[]>> {
  const all = [...pack.animals, ...pack.ancestors];
  const ids = new Map(all.map(({ ref }) => [ref, uuid()]));
  const idOf = (ref: string): string => ids.get(ref) ?? '';
  const kin = new Map(all.map((each) => [each.ref, kinOf(each, idOf(each.ref), taxonId)]));
  for (const { ref, parents } of all) {
    const child = kin.get(ref);
    const born = child?.birth.earliest ?? null;
    if (born !== null && born > tx.today)
      return refuse('DAY_IN_FUTURE', `${ref}: its birth is still to come. Ask for the pack again.`);
    for (const { role, candidates } of parents) {
      for (const candidate of candidates) {
        const parent = kin.get(candidate.ref);
        const possible = child && parent ? decideParent(child, parent, role) : decide(null);
        if (!possible.ok) return possible;
      }
    }
  }
  const lines = new Map<string, string>();
  for (const line of new Set(all.flatMap((each) => each.line ?? [])))
    lines.set(line, await ensureLine(tx, taxonId, line));
  return decide(
    all.map((each): StockToRegister => {
      const own = 'facts' in each ? each : null;
      return {
        id: idOf(each.ref),
        animal: {
          kind: own?.kind ?? 'individual',
          taxonId,
          lineId: each.line === null ? null : (lines.get(each.line) ?? null),
          count: own?.count ?? 0,
          countEstimated: own?.countEstimated ?? false,
          declaredFounder: 'originClass' in each && each.originClass === 'wild' && each.parents.length === 0,
          keeperId,
          on: tx.today,
          facts:
            'facts' in each ? each.facts.map(({ when, ...fact }) => ({ fact, when: read(when) })) : lineageFacts(each),
          marks: [
            ...(own?.marks ?? []).map(({ until, endCause, when, ...mark }) => ({
              ...mark,
              when: read(when),
              ended: endedOf(until, endCause),
            })),
            ...(each.registerNumber === null
              ? []
              : [{ kind: 'own_number' as const, value: each.registerNumber, when: null }]),
          ],
        },
        parents: each.parents.map(({ role, withoutSire, when, candidates }) => ({
          role,
          basis: 'declared' as const,
          withoutSire,
          when: read(when),
          candidates: candidates.map(({ ref, probability }) => ({ parentId: idOf(ref), probability })),
        })),
        holder: own === null ? { kind: 'unknown' } : { kind: 'keeper', keeperId },
        from: tx.today,
        arrivedBy: 'registered',
        ended: own === null ? { on: tx.today, leftBy: 'died' } : null,
        owners: own === null ? [] : [{ owner: { kind: 'keeper', keeperId }, parts: 1 }],
      };
    }),
  );
}

function read(when: string | null): UncertainDay | null {
  const parsed = when === null ? null : parseEdtf(when);
  return parsed?.ok === true ? parsed.value : null;
}

function endedOf(until: string | null, cause: string | null): Mark['ended'] {
  const when = read(until);
  return when === null ? null : { when, cause: (cause ?? 'other') as NonNullable<Mark['ended']>['cause'] };
}

type Entry = RecordPack['animals'][number] | RecordPack['ancestors'][number];

function kinOf(each: Entry, id: string, taxonId: string): KinFacts {
  const unknown: { earliest: Day | null; latest: Day | null } = { earliest: null, latest: null };
  if (!('facts' in each)) {
    const birth = read(each.birthYear === null ? null : yearText(each.birthYear)) ?? unknown;
    return { id, kind: 'individual', taxonId, sex: each.sex, birth };
  }
  const sex = each.facts.findLast((fact) => fact.kind === 'sex');
  const birth = each.facts.findLast((fact) => fact.kind === 'birth');
  return {
    id,
    kind: each.kind,
    taxonId,
    sex: sex?.kind === 'sex' ? sex.body.sex : 'unknown',
    birth: read(birth?.when ?? null) ?? unknown,
  };
}

function lineageFacts({ sex, birthYear, originClass }: RecordPack['ancestors'][number]): FactInput[] {
  return [
    ...(birthYear === null
      ? []
      : [{ fact: { kind: 'birth' as const, body: { manner: 'unknown' as const } }, when: read(yearText(birthYear)) }]),
    ...(sex === 'unknown' ? [] : [{ fact: { kind: 'sex' as const, body: { sex } }, when: null }]),
    ...(originClass === 'unknown' ? [] : [{ fact: { kind: 'origin' as const, body: { originClass } }, when: null }]),
  ];
}

function yearText(year: number): string {
  return String(year).padStart(4, '0');
}
