import { randomInt } from 'node:crypto';
import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day, makeRegisterNumber, notFound, type RegisterNumber, ruleRefused } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { RECORDED_ANEW } from '../core/correction.core.js';
import {
  type Fact,
  type FactBody,
  type Fate,
  type OriginClass,
  project,
  type Sex,
  SIGHTING_KINDS,
  SINGLE_KINDS,
  type When,
} from '../core/fact.core.js';
import { type LotCause } from '../core/lot.core.js';
import { type MarkDetails, type MarkKind } from '../core/mark.core.js';
import { parseFactBody } from '../fact-body.js';

/** A stock record as decisions see it: read after the lock, in the same transaction. */
export type StockRecord = {
  readonly id: string;
  readonly registerNumber: RegisterNumber;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly name: string | null;
  readonly sex: Sex;
  /** Earliest and latest day of birth; null = open. */
  readonly birth: { readonly earliest: Day | null; readonly latest: Day | null };
  readonly originClass: OriginClass;
  readonly fate: Fate;
  readonly count: number;
  readonly countEstimated: boolean;
  readonly declaredFounder: boolean;
  readonly version: number;
};

/** A fact to be recorded, when it happened, and for a correction the reason. */
export type FactInput = { readonly fact: FactBody; readonly when: When | null; readonly reason?: string };

/** A new stock record. */
export type NewAnimal = {
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly count: number;
  readonly countEstimated: boolean;
  /** Declared to have no ancestors in the registry to look for; not when left out. */
  readonly declaredFounder?: boolean;
  /** The keeper on whose behalf the first facts are recorded. */
  readonly keeperId: string;
  /** For a lot: the day of its opening count. */
  readonly on: Day;
  readonly facts: readonly FactInput[];
  readonly marks: readonly (Partial<MarkDetails> & {
    readonly kind: MarkKind;
    readonly value: string;
    readonly when: When | null;
  })[];
};

/**
 * Locks animals against other writers until the transaction ends. Always all at once and in id order, so that two
 * transactions over the same animals cannot wait for each other. Ids that do not exist are passed over.
 */
export async function lockAnimals(tx: Tx, ids: readonly string[]): Promise<void> {
  await tx.db.$queryRaw`SELECT id FROM animal WHERE id = ANY(${[...ids]}::uuid[]) ORDER BY id FOR NO KEY UPDATE`;
}

/** Throws RECORD_MERGED: a record that goes on in another one takes nothing more. For records the viewer may see. */
export function refuseMerged(animal: { readonly id: string; readonly mergedIntoId: string | null }): void {
  if (animal.mergedIntoId === null) return;
  throw ruleRefused({
    rule: 'RECORD_MERGED',
    message: 'This record was merged into another one of the same animal.',
    blockers: [{ kind: 'animal', id: animal.id, remedy: 'Record it on the one kept, which `mergedInto` names.' }],
  });
}

/** The record as it stands; call `lockAnimals` first. Throws NOT_FOUND, RECORD_MERGED. */
export async function getForWrite(tx: Tx, id: string): Promise<StockRecord> {
  const { mergedIntoId, ...record } = await getNamed(tx, id);
  refuseMerged({ id, mergedIntoId });
  return record;
}

/**
 * The same of a record that another one names already, as a clutch names its dam: also where it was merged since. What is said
 * with its name holds for the animal it is part of, and is its own again when that is undone. Throws NOT_FOUND.
 */
export async function getNamed(tx: Tx, id: string): Promise<StockRecord & { readonly mergedIntoId: string | null }> {
  const row = await tx.db.animal.findUnique({ where: { id } });
  if (row === null) throw notFound('animal');
  return {
    mergedIntoId: row.mergedIntoId,
    id: row.id,
    registerNumber: row.registerNumber as RegisterNumber,
    kind: row.kind,
    taxonId: row.taxonId,
    lineId: row.lineId,
    name: row.name,
    sex: row.sex,
    birth: { earliest: fromDateColumnOrNull(row.birthEarliest), latest: fromDateColumnOrNull(row.birthLatest) },
    originClass: row.originClass,
    fate: row.fate,
    count: row.count,
    countEstimated: row.countEstimated,
    declaredFounder: row.declaredFounder,
    version: row.version,
  };
}

/**
 * Records a fact and brings the animal's columns up to date. Of the kinds that hold one statement at a time (sex, name,
 * birth, origin, fate, hybrid; a trait by its gene) the one in force is superseded, with the reason given. Gives the fact's id.
 */
export async function recordFact(tx: Tx, animalId: string, keeperId: string, input: FactInput): Promise<string> {
  const row = factRow(tx, animalId, keeperId, input);
  const { fact } = input;
  if (SINGLE_KINDS.includes(fact.kind) || fact.kind === 'trait') {
    const ofGene = fact.kind === 'trait' ? { body: { path: ['gene'], equals: fact.body.gene } } : {};
    await tx.db.animalFact.updateMany({
      where: { animalId, kind: fact.kind, supersededAt: null, ...ofGene },
      data: { supersededAt: tx.now, supersededBy: row.id, reason: input.reason ?? RECORDED_ANEW },
    });
  }
  await tx.db.animalFact.create({ data: row });
  await applyProjection(tx, animalId);
  return row.id;
}

/** Brings the columns of the animal table in line with the facts in force, and moves its version on by one. */
export async function applyProjection(tx: Tx, animalId: string): Promise<void> {
  const columns = projectedColumns(await readTelling(tx, animalId));
  await tx.db.animal.update({ where: { id: animalId }, data: { ...columns, version: { increment: 1 } } });
}

/** The columns of the animal table that repeat the facts in force. */
export function projectedColumns(facts: readonly Fact[]) {
  const now = project(facts);
  return {
    name: now.name,
    sex: now.sex,
    birthEdtf: now.birth?.edtf ?? null,
    birthEarliest: now.birth?.earliest ? toDateColumn(now.birth.earliest) : null,
    birthLatest: now.birth?.latest ? toDateColumn(now.birth.latest) : null,
    originClass: now.originClass,
    isHybrid: now.isHybrid,
    fate: now.fate,
    fateEdtf: now.fateWhen?.edtf ?? null,
    lastSeenOn: now.lastSeenOn === null ? null : toDateColumn(now.lastSeenOn),
  };
}

/** The facts in force of an animal, inside a transaction. */
export async function readFacts(tx: Tx, animalId: string): Promise<Fact[]> {
  const rows = await tx.db.animalFact.findMany({
    where: { animalId, supersededAt: null },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  return rows.map((row) => toFact(row));
}

/** The facts in force that the columns repeat: those of which one holds, and of all sightings the last. */
async function readTelling(tx: Tx, animalId: string): Promise<Fact[]> {
  const inForce = { animalId, supersededAt: null };
  const standing = await tx.db.animalFact.findMany({
    where: { ...inForce, kind: { in: [...SINGLE_KINDS] } },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  const seen = await tx.db.animalFact.findFirst({
    where: {
      ...inForce,
      earliest: { not: null },
      OR: [{ kind: { in: [...SIGHTING_KINDS] } }, { kind: 'temperature', body: { path: ['of'], equals: 'animal' } }],
    },
    orderBy: { earliest: 'desc' },
  });
  return [...standing, ...(seen === null ? [] : [seen])].map((row) => toFact(row));
}

type FactRow = {
  id: string;
  kind: string;
  body: unknown;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  recordedAt: Date;
  supersededAt: Date | null;
  keeperId: string;
};

/** A stored fact as the domain knows it. */
export function toFact(row: FactRow): Fact {
  return {
    ...parseFactBody(row.kind, row.body),
    id: row.id,
    when:
      row.edtf === null
        ? null
        : { edtf: row.edtf, earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) },
    recordedAt: row.recordedAt,
    supersededAt: row.supersededAt,
    keeperId: row.keeperId,
  };
}

/** One change to be added to a lot's running count. */
export type LotChangeInput = {
  lotId: string;
  cause: LotCause;
  delta: number;
  on: Day;
  estimated?: boolean;
  counterpartId?: string;
  reason?: string;
  /** Who is named as recorder where the server itself acts. */
  keeperId: string;
};

/** Adds one change to a lot's running count. The count itself is the caller's to move; a constraint checks both at commit. */
export async function insertLotChange(tx: Tx, change: LotChangeInput): Promise<void> {
  await tx.db.lotChange.create({ data: lotChangeRow(tx, change) });
}

/** A change of a lot's count as stored. */
export function lotChangeRow(tx: Tx, change: LotChangeInput) {
  return {
    id: uuid(),
    lotId: change.lotId,
    cause: change.cause,
    delta: change.delta,
    estimated: change.estimated ?? false,
    counterpartId: change.counterpartId ?? null,
    happenedOn: toDateColumn(change.on),
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? change.keeperId,
    reason: change.reason ?? null,
  };
}

/** When something happened, as columns. */
export function whenColumns(when: When | null) {
  return {
    edtf: when?.edtf ?? null,
    earliest: when?.earliest ? toDateColumn(when.earliest) : null,
    latest: when?.latest ? toDateColumn(when.latest) : null,
  };
}

/** A new fact as stored. */
export function factRow(tx: Tx, animalId: string, keeperId: string, { fact, when }: FactInput) {
  const { kind, body } = parseFactBody(fact.kind, fact.body);
  return {
    id: uuid(),
    animalId,
    kind,
    body,
    ...whenColumns(when),
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? keeperId,
    keeperId,
  };
}

/** A random register number nobody has. With 33 billion numbers a second try is rare, but not impossible. */
export async function freeRegisterNumber(tx: Tx): Promise<RegisterNumber> {
  const [number] = await freeRegisterNumbers(tx, 1);
  if (number === undefined) throw new Error('No register number was drawn.');
  return number;
}

/** So many different register numbers that nobody has. */
export async function freeRegisterNumbers(tx: Tx, count: number): Promise<RegisterNumber[]> {
  const drawn = new Set<RegisterNumber>();
  while (drawn.size < count) {
    const before = drawn.size;
    while (drawn.size < count) drawn.add(makeRegisterNumber((below) => randomInt(below)));
    const fresh = [...drawn].slice(before);
    const taken = await tx.db.$queryRaw<{ register_number: string }[]>`
      SELECT register_number FROM animal WHERE register_number = ANY(${fresh})`;
    for (const row of taken) drawn.delete(row.register_number as RegisterNumber);
  }
  return [...drawn];
}
