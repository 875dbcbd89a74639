import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day, forbidden, notFound, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Cover, type DocumentStatement } from '../core/document.core.js';
import { type FileMediaType } from '../../platform/uploads/index.js';
import { toCover } from './document-read.store.js';
import { findSight } from './document-scope.store.js';

/** An own document, locked, as it stands. */
export type OwnDocument = DocumentStatement & {
  readonly id: string;
  readonly keeperId: string;
  readonly originalId: string;
  readonly superseded: boolean;
};

/**
 * Locks a document and reads it after the lock. Throws NOT_FOUND where the viewer does not see it, FORBIDDEN where it only
 * came to them with an animal.
 */
export async function lockOwnDocument(tx: Tx, viewer: Viewer, id: string): Promise<OwnDocument> {
  await tx.db.$queryRaw`SELECT id FROM holding_document WHERE id = ${id}::uuid FOR NO KEY UPDATE`;
  const sight = (await findSight(tx.db, viewer, [id])).get(id);
  if (sight === undefined) throw notFound('document');
  if (sight !== 'own') throw forbidden('Only the keeper who recorded the document may change it.');
  const row = await tx.db.holdingDocument.findUniqueOrThrow({
    where: { id },
    include: { covers: { orderBy: { id: 'asc' } } },
  });
  return {
    ...row,
    validFrom: fromDateColumnOrNull(row.validFrom),
    validUntil: fromDateColumnOrNull(row.validUntil),
    covers: row.covers.map(toCover),
    superseded: row.supersededAt !== null,
  };
}

/** Inserts a document with its covers; `originalId` null = it is the first record of its paper. Gives its id. */
export async function insertDocument(
  tx: Tx,
  document: DocumentStatement & {
    readonly keeperId: string;
    readonly originalId: string | null;
    readonly recordedBy: string;
    readonly reason: string | null;
  },
): Promise<string> {
  const id = uuid();
  const { covers, originalId, validFrom, validUntil, keeperId, kind, permitForm, number, authority, jurisdiction } =
    document;
  const column = (value: Day | null): Date | null => (value === null ? null : toDateColumn(value));
  await tx.db.holdingDocument.create({
    data: {
      id,
      originalId: originalId ?? id,
      keeperId,
      kind,
      permitForm,
      number,
      authority,
      jurisdiction,
      validFrom: column(validFrom),
      validUntil: column(validUntil),
      recordedAt: tx.now,
      recordedBy: document.recordedBy,
      reason: document.reason,
    },
  });
  await tx.db.documentCover.createMany({
    data: covers.map((cover) => ({ id: uuid(), documentId: id, ...columns(cover) })),
  });
  return id;
}

/** Closes a locked document in favour of the one that replaces it; its files go along under ids of their own. */
export async function closeDocument(tx: Tx, id: string, supersededBy: string): Promise<void> {
  await tx.db.holdingDocument.update({ where: { id }, data: { supersededAt: tx.now, supersededBy } });
  const files = await tx.db.documentFile.findMany({ where: { documentId: id }, orderBy: { id: 'asc' } });
  await tx.db.documentFile.createMany({
    data: files.map((file) => ({ ...file, id: uuid(), documentId: supersededBy })),
  });
}

/** Of `animalIds`, those the keeper neither has nor owns today; call after the animals are locked. */
export async function animalsNotHeld(tx: Tx, keeperId: string, animalIds: readonly string[]): Promise<string[]> {
  if (animalIds.length === 0) return [];
  const grants = await tx.db.animalAccess.findMany({
    where: { animalId: { in: [...animalIds] }, keeperId, relation: { in: ['holder', 'owner'] }, validTo: null },
    select: { animalId: true },
  });
  const held = new Set(grants.map(({ animalId }) => animalId));
  return animalIds.filter((id) => !held.has(id));
}

/** Whether every taxon exists. */
export async function taxaExist(tx: Tx, taxonIds: readonly string[]): Promise<boolean> {
  if (taxonIds.length === 0) return true;
  return (await tx.db.taxon.count({ where: { id: { in: [...taxonIds] } } })) === new Set(taxonIds).size;
}

/** The files of a locked document: id and hash. */
export async function findFiles(tx: Tx, documentId: string): Promise<{ id: string; sha256: string }[]> {
  return tx.db.documentFile.findMany({ where: { documentId }, select: { id: true, sha256: true } });
}

/** Adds a file, whose bytes are kept already, to a document. Gives its id. */
export async function insertFile(
  tx: Tx,
  file: {
    documentId: string;
    sha256: string;
    mediaType: FileMediaType;
    size: number;
    fileName: string;
    uploadedBy: string;
  },
): Promise<string> {
  const id = uuid();
  await tx.db.documentFile.create({ data: { ...file, id, uploadedAt: tx.now } });
  return id;
}

function columns(cover: Cover) {
  return {
    animalId: cover.what === 'animal' ? cover.animalId : null,
    taxonId: cover.what === 'taxon' ? cover.taxonId : null,
    quantity: cover.what === 'taxon' ? cover.quantity : null,
  };
}
