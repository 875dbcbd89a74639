import { v7 as uuid } from 'uuid';
import { type When } from '../../animal/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type KnownAnswer } from '../core/breeding.core.js';
import { recorded, whenColumns, whenOf } from './when-columns.js';

export type NewMating = {
  readonly damId: string;
  readonly sireId: string | null;
  readonly basis: ParentageBasis;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
  readonly keeperId: string;
};

export type NewHatching = {
  /** The first version of the clutch. */
  readonly clutchId: string;
  readonly animalId: string;
  readonly eggId: string | null;
  /** With whom it hatched; null = the keeper of the clutch. */
  readonly keeperId: string | null;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
};

/** Kinds of breeding facts that can be corrected. */
export const BREEDING_FACTS = ['mating', 'clutch', 'hatching'] as const;
export type BreedingFactKind = (typeof BREEDING_FACTS)[number];

/** A mating or hatching in force. `clutchId` of a hatching is any version of its clutch. */
export type MatingFacts = {
  readonly id: string;
  readonly damId: string;
  readonly sireId: string | null;
  readonly keeperId: string;
};
export type HatchingFacts = {
  readonly id: string;
  readonly animalId: string;
  readonly clutchId: string;
  readonly keeperId: string | null;
  /** The egg it came out of; null = not known. */
  readonly eggId: string | null;
  readonly when: When | null;
};

/** What a correction changes; what is left out stays as it was. */
export type Correction = { readonly when?: When | null; readonly controlled?: KnownAnswer };

export async function insertMating(tx: Tx, mating: NewMating): Promise<string> {
  const { when, ...columns } = mating;
  const id = uuid();
  await tx.db.mating.create({ data: { id, ...columns, ...whenColumns(when), ...recorded(tx, mating.keeperId) } });
  return id;
}

/** Adds hatchings. A second one in force for the same animal is refused by the database: HATCHING_RECORDED. */
export async function insertHatchings(tx: Tx, hatchings: readonly NewHatching[]): Promise<string[]> {
  const rows = hatchings.map(({ when, ...columns }) => ({
    id: uuid(),
    ...columns,
    ...whenColumns(when),
    ...recorded(tx, columns.animalId),
  }));
  await tx.db.hatching.createMany({ data: rows });
  return rows.map((row) => row.id);
}

/** Hatchings in force of a clutch by egg; null = no egg is named. */
export async function youngByEgg(tx: Tx, originalId: string): Promise<Map<string | null, number>> {
  const rows = await tx.db.hatching.findMany({
    where: { supersededAt: null, clutch: { originalId } },
    select: { eggId: true },
  });
  const young = new Map<string | null, number>();
  for (const { eggId } of rows) young.set(eggId, (young.get(eggId) ?? 0) + 1);
  return young;
}

/**
 * Young of a clutch in force: the eggs that have some, and how many that name no egg hatched with a keeper. A lot counts as many as
 * it began with.
 */
export async function readYoungOfEggs(
  tx: Tx,
  clutch: { readonly originalId: string; readonly keeperId: string },
  keeperId: string,
): Promise<{ ofEggs: ReadonlySet<string>; without: number }> {
  const rows = await tx.db.hatching.findMany({
    where: { supersededAt: null, clutch: { originalId: clutch.originalId } },
    select: {
      eggId: true,
      keeperId: true,
      animal: {
        select: {
          lotChanges: { where: { supersededAt: null }, select: { delta: true }, orderBy: { id: 'asc' }, take: 1 },
        },
      },
    },
  });
  const own = rows.filter((row) => row.eggId === null && (row.keeperId ?? clutch.keeperId) === keeperId);
  return {
    ofEggs: new Set(rows.flatMap(({ eggId }) => eggId ?? [])),
    without: own.reduce((sum, { animal }) => sum + (animal.lotChanges[0]?.delta ?? 1), 0),
  };
}

export async function findMating(tx: Tx, id: string): Promise<MatingFacts | null> {
  return tx.db.mating.findFirst({
    where: { id, supersededAt: null },
    select: { id: true, damId: true, sireId: true, keeperId: true },
  });
}

export async function findHatching(tx: Tx, id: string): Promise<HatchingFacts | null> {
  const row = await tx.db.hatching.findFirst({ where: { id, supersededAt: null } });
  if (row === null) return null;
  const { animalId, clutchId, keeperId, eggId } = row;
  return { id, animalId, clutchId, keeperId, eggId, when: whenOf(row) };
}

/**
 * Supersedes a mating or hatching in force, with the reason: by a copy with the correction, or by nothing when it is taken
 * back (null). Gives the id of the copy.
 */
export async function supersede(
  tx: Tx,
  kind: 'mating' | 'hatching',
  id: string,
  correction: Correction | null,
  reason: string,
): Promise<string | null> {
  const copyId = correction === null ? null : uuid();
  const data = { supersededAt: tx.now, supersededBy: copyId, reason };
  const changed = {
    ...(correction?.controlled === undefined ? {} : { controlled: correction.controlled }),
    ...(correction?.when === undefined ? {} : whenColumns(correction.when)),
  };
  const fresh = { supersededAt: null, supersededBy: null, reason: null, recordedAt: tx.now };
  if (kind === 'mating') {
    const row = await tx.db.mating.update({ where: { id }, data });
    if (copyId !== null)
      await tx.db.mating.create({
        data: { ...row, ...changed, ...fresh, id: copyId, recordedBy: tx.actorId ?? row.recordedBy },
      });
  } else {
    const row = await tx.db.hatching.update({ where: { id }, data });
    if (copyId !== null)
      await tx.db.hatching.create({
        data: { ...row, ...changed, ...fresh, id: copyId, recordedBy: tx.actorId ?? row.recordedBy },
      });
  }
  return copyId;
}
