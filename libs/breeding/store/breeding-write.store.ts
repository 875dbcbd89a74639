import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { type Day, type DaySpan } from '../../kernel/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type KnownAnswer } from '../core/breeding.core.js';

export type NewMating = {
  readonly damId: string;
  readonly sireId: string | null;
  readonly basis: ParentageBasis;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
  readonly keeperId: string;
};

export type NewClutch = {
  readonly damId: string;
  readonly eggCount: number | null;
  readonly controlled: KnownAnswer;
  readonly laid: When | null;
  readonly foundOn: Day | null;
  readonly keeperId: string;
};

export type NewHatching = {
  readonly clutchId: string;
  readonly animalId: string;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
};

/** A clutch in force as decisions see it. */
export type ClutchFacts = {
  readonly id: string;
  readonly damId: string;
  readonly keeperId: string;
  readonly laid: DaySpan;
};

/** Kinds of breeding facts that can be corrected. */
export const BREEDING_FACTS = ['mating', 'clutch', 'hatching'] as const;
export type BreedingFactKind = (typeof BREEDING_FACTS)[number];

/** A fact in force with what a correction is judged by. */
export type FactToCorrect = {
  readonly id: string;
  readonly damId: string;
  readonly sireId: string | null;
  readonly animalId: string | null;
  /** The keeper who recorded it, or for a hatching its clutch. */
  readonly keeperId: string;
  readonly laid: DaySpan;
  readonly foundOn: Day | null;
};

/** What a correction changes; what is left out stays as it was. */
export type Correction = { readonly when?: When | null; readonly controlled?: KnownAnswer };

export async function insertMating(tx: Tx, mating: NewMating): Promise<string> {
  const { when, ...columns } = mating;
  const id = uuid();
  await tx.db.mating.create({ data: { id, ...columns, ...whenColumns(when), ...recorded(tx, mating.keeperId) } });
  return id;
}

export async function insertClutch(tx: Tx, clutch: NewClutch): Promise<string> {
  const { laid, foundOn, ...columns } = clutch;
  const id = uuid();
  const found = foundOn === null ? null : toDateColumn(foundOn);
  await tx.db.clutch.create({
    data: { id, ...columns, foundOn: found, ...whenColumns(laid), ...recorded(tx, clutch.keeperId) },
  });
  return id;
}

/** Adds a hatching. A second one in force for the same animal is refused by the database: HATCHING_RECORDED. */
export async function insertHatching(tx: Tx, hatching: NewHatching): Promise<string> {
  const { when, ...columns } = hatching;
  const id = uuid();
  await tx.db.hatching.create({
    data: { id, ...columns, ...whenColumns(when), ...recorded(tx, hatching.animalId) },
  });
  return id;
}

/** The clutch, where it is in force. */
export async function findClutch(tx: Tx, id: string): Promise<ClutchFacts | null> {
  const row = await tx.db.clutch.findFirst({ where: { id, supersededAt: null } });
  return row === null ? null : { id: row.id, damId: row.damId, keeperId: row.keeperId, laid: spanOf(row) };
}

/** The fact to be corrected, where it is in force. */
export async function findFact(tx: Tx, kind: BreedingFactKind, id: string): Promise<FactToCorrect | null> {
  const where = { id, supersededAt: null };
  const nothing = { sireId: null, animalId: null, laid: { earliest: null, latest: null }, foundOn: null };
  if (kind === 'mating') {
    const row = await tx.db.mating.findFirst({ where });
    return row === null ? null : { ...nothing, id, damId: row.damId, sireId: row.sireId, keeperId: row.keeperId };
  }
  if (kind === 'clutch') {
    const row = await tx.db.clutch.findFirst({ where });
    if (row === null) return null;
    return {
      ...nothing,
      id,
      damId: row.damId,
      keeperId: row.keeperId,
      laid: spanOf(row),
      foundOn: fromDateColumnOrNull(row.foundOn),
    };
  }
  const row = await tx.db.hatching.findFirst({ where, include: { clutch: true } });
  if (row === null) return null;
  const clutch = await inForce(tx, row.clutch);
  return {
    ...nothing,
    id,
    damId: clutch.damId,
    animalId: row.animalId,
    keeperId: clutch.keeperId,
    laid: spanOf(clutch),
  };
}

/**
 * Supersedes a fact in force, with the reason: by a copy with the correction, or by nothing when it is taken back (null).
 * Gives the id of the copy. A hatching goes on naming the clutch it was recorded with; readers follow it to the one in force.
 */
export async function supersede(
  tx: Tx,
  kind: BreedingFactKind,
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
  } else if (kind === 'clutch') {
    const row = await tx.db.clutch.update({ where: { id }, data });
    if (copyId !== null)
      await tx.db.clutch.create({
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

type ClutchRow = {
  damId: string;
  keeperId: string;
  earliest: Date | null;
  latest: Date | null;
  supersededBy: string | null;
};

/** The version in force of a clutch that was corrected; the last one when it was taken back. */
async function inForce(tx: Tx, clutch: ClutchRow): Promise<ClutchRow> {
  let row = clutch;
  while (row.supersededBy !== null) row = await tx.db.clutch.findUniqueOrThrow({ where: { id: row.supersededBy } });
  return row;
}

function recorded(tx: Tx, fallback: string) {
  return { recordedAt: tx.now, recordedBy: tx.actorId ?? fallback };
}

function spanOf(row: { earliest: Date | null; latest: Date | null }): DaySpan {
  return { earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) };
}

function whenColumns(when: When | null) {
  return {
    edtf: when?.edtf ?? null,
    earliest: when?.earliest ? toDateColumn(when.earliest) : null,
    latest: when?.latest ? toDateColumn(when.latest) : null,
  };
}
