import { Injectable } from '@nestjs/common';
import { type Access, findAccess, fieldsShown } from '../../access/index.js';
import { actsFor, NO_ID, notFound, type Viewer } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { groupRows, parseTaxonProfile, type TaxonProfile } from '../../taxon/index.js';
import { type FactVersion } from '../core/correction.core.js';
import { type Authority, requireAuthority } from './animal-authority.store.js';
import { applyProjection, type FactInput, factRow, lockAnimals, toFact } from './animal-write.store.js';

type VersionRow = Parameters<typeof toFact>[0] & {
  supersededBy: string | null;
  reason: string | null;
  restoresId: string | null;
};

/** A stored fact with what became of it. */
export function toVersion(row: VersionRow): FactVersion {
  return { ...toFact(row), supersededBy: row.supersededBy, reason: row.reason, restoresId: row.restoresId };
}

/** Reads facts with all that became of them. For callers that cut them to what the viewer may see. */
@Injectable()
export class FactHistoryStore {
  constructor(private readonly database: Database) {}

  /** Every version of every fact of each animal, in the order they were recorded. */
  async findVersions(animalIds: readonly string[]): Promise<Map<string, FactVersion[]>> {
    const rows = await this.database.client.animalFact.findMany({
      where: { animalId: { in: [...animalIds] } },
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
    });
    const groups = groupRows(rows, (row) => row.animalId);
    return new Map([...groups].map(([id, group]) => [id, group.map(toVersion)]));
  }

  /** The animal each fact is about. */
  async findSubjects(factIds: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.database.client.animalFact.findMany({
      where: { id: { in: [...factIds] } },
      select: { id: true, animalId: true },
    });
    return new Map(rows.map((row) => [row.id, row.animalId]));
  }

  /** What is said of the biology of each animal's taxon. */
  async findProfiles(animalIds: readonly string[]): Promise<Map<string, TaxonProfile>> {
    const rows = await this.database.client.animal.findMany({
      where: { id: { in: [...animalIds] } },
      select: { id: true, taxon: { select: { profile: true } } },
    });
    return new Map(rows.map((row) => [row.id, parseTaxonProfile(row.taxon.profile)]));
  }
}

/** A fact under correction, with every version of every fact of its animal. */
export type FactUnderCorrection = {
  readonly animalId: string;
  readonly fact: FactVersion;
  readonly facts: readonly FactVersion[];
  /** On whose behalf the correction is made: a private note stays with the keeper who wrote it. */
  readonly keeperId: Authority['keeperId'];
};

/**
 * Locks the animal of a fact and reads its facts. Throws NOT_FOUND, in the same words and after the same questions whether the
 * fact does not exist or is not the viewer's to see (a private note of another keeper, an animal out of sight, what was recorded
 * after it left); FORBIDDEN where they see it and neither have nor own the animal; RECORD_MERGED.
 */
export async function lockFact(tx: Tx, viewer: Viewer, factId: string): Promise<FactUnderCorrection> {
  const row = await tx.db.animalFact.findUnique({ where: { id: factId } });
  const animalId = row?.animalId ?? NO_ID;
  const seen = row === null ? undefined : toVersion(row);
  requireShown(viewer, seen, (await findAccess(tx.db, viewer, [animalId])).get(animalId));
  await lockAnimals(tx, [animalId]);
  const access = (await findAccess(tx.db, viewer, [animalId])).get(animalId);
  const facts = await readVersions(tx, animalId);
  const fact = requireShown(
    viewer,
    facts.find((each) => each.id === factId),
    access,
  );
  const { keeperId } = await requireAuthority(tx, viewer, animalId);
  return { animalId, fact, facts, keeperId: isPrivate(fact) ? fact.keeperId : keeperId };
}

const isPrivate = (fact: FactVersion): boolean => fact.kind === 'note' && fact.body.topic === 'private';

function requireShown(viewer: Viewer, fact: FactVersion | undefined, access: Access | undefined): FactVersion {
  if (fact === undefined || access === undefined || !fieldsShown(access.level).record) throw notFound('fact');
  if (access.readsUntil !== null && fact.recordedAt > access.readsUntil) throw notFound('fact');
  if (isPrivate(fact) && !actsFor(viewer, fact.keeperId)) throw notFound('fact');
  return fact;
}

/** Every version of every fact of a locked animal, in the order they were recorded. */
export async function readVersions(tx: Tx, animalId: string): Promise<FactVersion[]> {
  const rows = await tx.db.animalFact.findMany({
    where: { animalId },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  return rows.map(toVersion);
}

/**
 * Writes a fact of a locked animal in the place of others and brings the animal's columns up to date; gives its id. Those it
 * takes the place of must be in force.
 */
export async function insertInPlaceOf(
  tx: Tx,
  animalId: string,
  keeperId: string,
  input: FactInput & { readonly reason: string; readonly restoresId?: string },
  supersedes: readonly string[],
): Promise<string> {
  const row = factRow(tx, animalId, keeperId, input);
  await supersede(tx, supersedes, row.id, input.reason);
  await tx.db.animalFact.create({ data: { ...row, restoresId: input.restoresId ?? null } });
  await applyProjection(tx, animalId);
  return row.id;
}

/** Takes a fact of a locked animal back: nothing is said in its place. */
export async function takeBack(tx: Tx, animalId: string, factId: string, reason: string): Promise<void> {
  await supersede(tx, [factId], null, reason);
  await applyProjection(tx, animalId);
}

async function supersede(tx: Tx, ids: readonly string[], by: string | null, reason: string): Promise<void> {
  const { count } = await tx.db.animalFact.updateMany({
    where: { id: { in: [...ids] }, supersededAt: null },
    data: { supersededAt: tx.now, supersededBy: by, reason },
  });
  if (count !== ids.length) throw new Error('A fact that is not in force was to be superseded.');
}
