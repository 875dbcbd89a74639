import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type Day, type Viewer } from '../../kernel/index.js';
import { Database, type Prisma } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type Cover, type DocumentSight, type DocumentStatement } from '../core/document.core.js';
import { type FileMediaType } from '../../platform/uploads/index.js';
import { findSight } from './document-scope.store.js';

/** An uploaded file of a document. */
export type StoredFile = {
  readonly id: string;
  readonly documentId: string;
  readonly sha256: string;
  readonly mediaType: FileMediaType;
  readonly size: number;
  readonly fileName: string;
  readonly uploadedAt: Date;
};

/** A document as its viewer sees it. `covers` of one that came with an animal names only animals the viewer has or owns. */
export type DocumentView = DocumentStatement & {
  readonly id: string;
  readonly sight: Exclude<DocumentSight, 'none'>;
  /** Null where the document came with an animal: whose it was is not told by the registry. */
  readonly keeperId: string | null;
  readonly recordedAt: Date;
  readonly supersededBy: string | null;
  readonly reason: string | null;
  readonly files: readonly StoredFile[];
};

/** The last document of a page: `validUntil` is '' where it has no end. */
export type DocumentKey = { readonly validUntil: Day | ''; readonly id: string };

const WITH_PARTS = {
  covers: { orderBy: { id: 'asc' } },
  files: { orderBy: { id: 'asc' } },
} as const satisfies Prisma.HoldingDocumentInclude;
type Row = Prisma.HoldingDocumentGetPayload<{ include: typeof WITH_PARTS }>;

/** Reads documents through the viewer's scope. */
@Injectable()
export class DocumentReadStore {
  constructor(private readonly database: Database) {}

  /** The documents of these ids that the viewer sees, in force or superseded; the others are missing. */
  async findVisible(viewer: Viewer, ids: readonly string[]): Promise<Map<string, DocumentView>> {
    const { client } = this.database;
    const sights = await findSight(client, viewer, ids);
    if (sights.size === 0) return new Map();
    const rows = await client.holdingDocument.findMany({
      where: { id: { in: [...sights.keys()] } },
      include: WITH_PARTS,
    });
    const shown = await this.animalsOf(viewer, rows);
    return new Map(rows.map((row) => [row.id, toView(row, sights.get(row.id) ?? 'with_animal', shown)]));
  }

  /** A keeper's documents in force, the first to end first, those without an end last; at most `limit`. */
  async pageOfKeeper(
    viewer: Viewer,
    keeperId: string,
    after: DocumentKey | null,
    limit: number,
  ): Promise<DocumentView[]> {
    const rows = await this.database.client.holdingDocument.findMany({
      where: { keeperId, supersededAt: null, ...later(after) },
      orderBy: [{ validUntil: { sort: 'asc', nulls: 'last' } }, { id: 'asc' }],
      take: limit,
      select: { id: true },
    });
    const ids = rows.map(({ id }) => id);
    const views = await this.findVisible(viewer, ids);
    return ids.flatMap((id) => views.get(id) ?? []);
  }

  /** The documents in force that cover each animal by id and that the viewer sees, in the order of recording. */
  async findCovering(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, DocumentView[]>> {
    const covers = await this.database.client.documentCover.findMany({
      where: { animalId: { in: [...animalIds] }, document: { supersededAt: null } },
      orderBy: { documentId: 'asc' },
      select: { animalId: true, documentId: true },
    });
    const views = await this.findVisible(viewer, [...new Set(covers.map(({ documentId }) => documentId))]);
    const byAnimal = groupRows(covers, ({ animalId }) => animalId ?? '');
    return new Map(
      [...byAnimal].map(([id, rows]) => [id, rows.flatMap(({ documentId }) => views.get(documentId) ?? [])]),
    );
  }

  /** Of the animals the documents cover, those a keeper of the viewer has or owns now. */
  private async animalsOf(viewer: Viewer, rows: readonly Row[]): Promise<Set<string>> {
    const ids = rows.flatMap(({ covers }) => covers.flatMap(({ animalId }) => animalId ?? []));
    if (ids.length === 0) return new Set();
    const grants = await this.database.client.animalAccess.findMany({
      where: {
        animalId: { in: ids },
        keeperId: { in: viewer.keepers.map(({ keeperId }) => keeperId) },
        relation: { in: ['holder', 'owner'] },
        validTo: null,
      },
      select: { animalId: true },
    });
    return new Set(grants.map(({ animalId }) => animalId));
  }
}

function later(after: DocumentKey | null): Prisma.HoldingDocumentWhereInput {
  if (after === null) return {};
  if (after.validUntil === '') return { validUntil: null, id: { gt: after.id } };
  const end = new Date(after.validUntil);
  return { OR: [{ validUntil: { gt: end } }, { validUntil: end, id: { gt: after.id } }, { validUntil: null }] };
}

function toView(row: Row, sight: DocumentView['sight'], shown: ReadonlySet<string>): DocumentView {
  const covers = row.covers.map(toCover);
  const own = sight === 'own';
  return {
    id: row.id,
    sight,
    keeperId: own ? row.keeperId : null,
    kind: row.kind,
    permitForm: row.permitForm,
    number: row.number,
    authority: row.authority,
    jurisdiction: row.jurisdiction,
    validFrom: fromDateColumnOrNull(row.validFrom),
    validUntil: fromDateColumnOrNull(row.validUntil),
    covers: own ? covers : covers.filter((cover) => cover.what === 'animal' && shown.has(cover.animalId)),
    recordedAt: row.recordedAt,
    supersededBy: row.supersededBy,
    reason: own ? row.reason : null,
    files: row.files.map(({ mediaType, ...file }) => ({ ...file, mediaType: mediaType as FileMediaType })),
  };
}

/** A row of `document_cover` as a cover. */
export function toCover(row: { animalId: string | null; taxonId: string | null; quantity: number | null }): Cover {
  if (row.animalId !== null) return { what: 'animal', animalId: row.animalId };
  if (row.taxonId !== null) return { what: 'taxon', taxonId: row.taxonId, quantity: row.quantity };
  return { what: 'collection' };
}
