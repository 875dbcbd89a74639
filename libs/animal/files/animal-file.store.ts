import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { accessScope, fieldsShown, levelOfRank, toDateColumn } from '../../access/index.js';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { Database, Prisma, type Tx } from '../../platform/prisma/index.js';
import { type FileMediaType } from '../../platform/uploads/index.js';
import { groupRows } from '../../taxon/index.js';
import { type When } from '../core/fact.core.js';

/** Bytes that are kept, and how many. */
export type Kept = { readonly sha256: string; readonly size: number };

/** The copies of a picture. */
export type Copies = {
  readonly shared: Kept;
  readonly thumb: Kept;
  readonly width: number;
  readonly height: number;
  readonly claimedTakenAt: string | null;
};

export type NewAnimalFile = {
  readonly animalId: string;
  readonly keeperId: string;
  readonly fileName: string;
  readonly caption: string | null;
  readonly original: Kept & { readonly mediaType: FileMediaType };
  /** Null for a paper. */
  readonly copies: Copies | null;
  readonly when: When | null;
};

/** A file as the viewer may see it. `original` is null for all but the keeper who sent it. */
export type AnimalFileView = {
  readonly id: string;
  readonly animalId: string;
  readonly keeperId: string;
  readonly fileName: string;
  readonly caption: string | null;
  readonly original: (Kept & { readonly mediaType: FileMediaType }) | null;
  readonly copies: Copies | null;
  readonly edtf: string | null;
  readonly uploadedAt: Date;
  /** Told to the keeper who sent it; for others a withdrawn file does not exist. */
  readonly withdrawn: { readonly at: Date; readonly reason: string } | null;
};

type Row = {
  id: string;
  animal_id: string;
  keeper_id: string;
  file_name: string;
  caption: string | null;
  original_sha256: string;
  original_type: string;
  original_size: number;
  shared_sha256: string | null;
  shared_size: number | null;
  thumb_sha256: string | null;
  thumb_size: number | null;
  width: number | null;
  height: number | null;
  claimed_taken_at: string | null;
  edtf: string | null;
  uploaded_at: Date;
  withdrawn_at: Date | null;
  reason: string | null;
};

/** Reads files of animals: what an own keeper sent, and the cleaned pictures of animals whose record is shown. */
@Injectable()
export class AnimalFileStore {
  constructor(private readonly database: Database) {}

  /**
   * The files of each animal that the viewer may see, in the order they came. Own files stay readable after the animal is
   * gone; of others' files only pictures, none that is withdrawn, and for a past holder none that came later.
   */
  async findOfAnimals(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, AnimalFileView[]>> {
    const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
    const rows = await this.database.client.$queryRaw<(Row & { rank: number | null; reads_until: Date | null })[]>`
      SELECT f.*, s.rank, s.reads_until
      FROM animal_file f LEFT JOIN ${accessScope(viewer, animalIds)} s ON s.animal_id = f.animal_id
      WHERE f.animal_id = ANY(${[...animalIds]}::uuid[])
        AND (f.keeper_id = ANY(${keeperIds}::uuid[]) OR (f.shared_sha256 IS NOT NULL AND f.withdrawn_at IS NULL))
      ORDER BY f.id`;
    const visible = rows.filter((row) => actsFor(viewer, row.keeper_id) || isShown(row));
    return groupRows(
      visible.map((row) => toView(row, actsFor(viewer, row.keeper_id))),
      (file) => file.animalId,
    );
  }
}

/** Levels at which the record is shown show its pictures too; see `fieldsShown`. */
function isShown(row: Row & { rank: number | null; reads_until: Date | null }): boolean {
  if (row.rank === null) return false;
  const level = levelOfRank(row.rank);
  if (level === 'past') return row.reads_until !== null && row.uploaded_at <= row.reads_until;
  return fieldsShown(level).record;
}

function toView(row: Row, own: boolean): AnimalFileView {
  const { shared_sha256: shared, shared_size: sharedSize, thumb_sha256: thumb, thumb_size: thumbSize } = row;
  return {
    id: row.id,
    animalId: row.animal_id,
    keeperId: row.keeper_id,
    fileName: row.file_name,
    caption: row.caption,
    original: own
      ? { sha256: row.original_sha256, size: row.original_size, mediaType: row.original_type as FileMediaType }
      : null,
    copies:
      shared === null || sharedSize === null || thumb === null || thumbSize === null
        ? null
        : {
            shared: { sha256: shared, size: sharedSize },
            thumb: { sha256: thumb, size: thumbSize },
            width: row.width ?? 0,
            height: row.height ?? 0,
            claimedTakenAt: row.claimed_taken_at,
          },
    edtf: row.edtf,
    uploadedAt: row.uploaded_at,
    withdrawn:
      own && row.withdrawn_at !== null && row.reason !== null ? { at: row.withdrawn_at, reason: row.reason } : null,
  };
}

/** What a keeper has sent of a locked animal: how many files, and the one of these bytes. */
export async function findSent(
  tx: Tx,
  { animalId, keeperId }: { animalId: string; keeperId: string },
  sha256: string,
): Promise<{ count: number; sameId: string | null }> {
  const files = await tx.db.animalFile.findMany({
    where: { animalId, keeperId },
    select: { id: true, originalSha256: true },
  });
  return { count: files.length, sameId: files.find((file) => file.originalSha256 === sha256)?.id ?? null };
}

/** Adds the row of a file whose bytes are kept. Gives its id. */
export async function insertAnimalFile(tx: Tx, file: NewAnimalFile): Promise<string> {
  const id = uuid();
  const { original, copies, when } = file;
  await tx.db.animalFile.create({
    data: {
      id,
      animalId: file.animalId,
      keeperId: file.keeperId,
      fileName: file.fileName,
      caption: file.caption,
      originalSha256: original.sha256,
      originalType: original.mediaType,
      originalSize: original.size,
      sharedSha256: copies?.shared.sha256 ?? null,
      sharedSize: copies?.shared.size ?? null,
      thumbSha256: copies?.thumb.sha256 ?? null,
      thumbSize: copies?.thumb.size ?? null,
      width: copies?.width ?? null,
      height: copies?.height ?? null,
      claimedTakenAt: copies?.claimedTakenAt ?? null,
      edtf: when?.edtf ?? null,
      earliest: when?.earliest ? toDateColumn(when.earliest) : null,
      latest: when?.latest ? toDateColumn(when.latest) : null,
      uploadedAt: tx.now,
      uploadedBy: tx.actorId ?? file.keeperId,
    },
  });
  return id;
}

/** Locks a file of the viewer's keepers; null where there is none. */
export async function lockOwnFile(
  tx: Tx,
  viewer: Viewer,
  fileId: string,
): Promise<{ animalId: string; keeperId: string; withdrawn: boolean } | null> {
  const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
  const [row] = await tx.db.$queryRaw<{ animal_id: string; keeper_id: string; withdrawn_at: Date | null }[]>(
    Prisma.sql`SELECT animal_id, keeper_id, withdrawn_at FROM animal_file
      WHERE id = ${fileId}::uuid AND keeper_id = ANY(${keeperIds}::uuid[]) FOR NO KEY UPDATE`,
  );
  return row === undefined
    ? null
    : { animalId: row.animal_id, keeperId: row.keeper_id, withdrawn: row.withdrawn_at !== null };
}

/** Hides a file from everybody but its keeper. */
export async function markWithdrawn(tx: Tx, fileId: string, reason: string): Promise<void> {
  await tx.db.animalFile.update({
    where: { id: fileId },
    data: { withdrawnAt: tx.now, withdrawnBy: tx.actorId, reason },
  });
}

/** Which of the files are pictures of a locked animal that the keeper sent and has not withdrawn. */
export async function findOwnPictures(
  tx: Tx,
  of: { readonly animalId: string; readonly keeperId: string },
  fileIds: readonly string[],
): Promise<Set<string>> {
  const { animalId, keeperId } = of;
  const rows = await tx.db.animalFile.findMany({
    where: { id: { in: [...fileIds] }, animalId, keeperId, withdrawnAt: null, sharedSha256: { not: null } },
    select: { id: true },
  });
  return new Set(rows.map(({ id }) => id));
}
