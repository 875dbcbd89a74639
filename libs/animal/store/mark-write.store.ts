import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import { type When } from '../core/fact.core.js';
import { type Mark, type MarkDetails, type MarkEndCause, type MarkKind, matchValueOf } from '../core/mark.core.js';
import { whenColumns } from './animal-write.store.js';
import { toMark } from './mark-row.store.js';

/** What one version of a mark says. */
export type MarkContent = Partial<MarkDetails> & {
  readonly kind: MarkKind;
  readonly value: string;
  readonly when: When | null;
  readonly ended?: { readonly when: When; readonly cause: MarkEndCause } | null;
};

/** A version of a mark as stored; `series` is null for the first. `recorder` stands in where the server itself acts. */
export function markRow(tx: Tx, animalId: string, series: string | null, mark: MarkContent, recorder: string) {
  const id = uuid();
  const until = whenColumns(mark.ended?.when ?? null);
  return {
    id,
    seriesId: series ?? id,
    animalId,
    kind: mark.kind,
    value: mark.value,
    matchValue: matchValueOf(mark.kind, mark.value),
    size: mark.size ?? null,
    fixedView: mark.fixedView ?? null,
    withScale: mark.withScale ?? null,
    intervalDays: mark.intervalDays ?? null,
    ...whenColumns(mark.when),
    untilEdtf: until.edtf,
    untilEarliest: until.earliest,
    untilLatest: until.latest,
    endCause: mark.ended?.cause ?? null,
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? recorder,
  };
}

/** Adds a mark to a locked animal. Gives its id. */
export async function insertMark(tx: Tx, animalId: string, mark: MarkContent, recorder: string): Promise<string> {
  const row = markRow(tx, animalId, null, mark, recorder);
  await tx.db.animalMark.create({ data: row });
  return row.seriesId;
}

/** The mark in force with this id, of whatever animal, or null: lock that and read again. */
export async function findMark(tx: Tx, markId: string): Promise<Mark | null> {
  const row = await tx.db.animalMark.findFirst({ where: { seriesId: markId, supersededAt: null } });
  return row === null ? null : toMark(row);
}

/** How many marks of an animal are in force. */
export async function countMarks(tx: Tx, animalId: string): Promise<number> {
  return tx.db.animalMark.count({ where: { animalId, supersededAt: null } });
}

/** Puts `next` in the place of a mark's version in force, with the reason; null takes the mark back. The animal is locked. */
export async function supersedeMark(
  tx: Tx,
  mark: Mark,
  next: MarkContent | null,
  reason: string,
  recorder: string,
): Promise<void> {
  const row = next === null ? null : markRow(tx, mark.animalId, mark.id, next, recorder);
  await tx.db.animalMark.update({
    where: { id: mark.versionId },
    data: { supersededAt: tx.now, supersededBy: row?.id ?? null, reason },
  });
  if (row !== null) await tx.db.animalMark.create({ data: row });
}
