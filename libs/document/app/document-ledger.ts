import { z } from 'zod';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { DOCUMENT_KINDS, type DocumentStatement } from '../core/document.core.js';
import { PERMIT_FORMS } from '../core/permit-validity.core.js';

const statement = z.strictObject({
  documentId: z.uuid(),
  keeperId: z.uuid(),
  kind: z.enum(DOCUMENT_KINDS),
  permitForm: z.enum(PERMIT_FORMS).nullable(),
  jurisdiction: z.string(),
  validFrom: z.iso.date().nullable(),
  validUntil: z.iso.date().nullable(),
  covers: z.array(
    z.discriminatedUnion('what', [
      z.strictObject({ what: z.literal('animal'), animalId: z.uuid() }),
      z.strictObject({ what: z.literal('taxon'), taxonId: z.uuid(), quantity: z.int().nullable() }),
      z.strictObject({ what: z.literal('collection') }),
    ]),
  ),
});

export const documentRecorded = defineLedgerAction('document.recorded', 1, statement);

export const documentSuperseded = defineLedgerAction(
  'document.superseded',
  1,
  statement.extend({ supersedes: z.uuid() }),
);

export const documentFileAdded = defineLedgerAction(
  'document.file-added',
  1,
  z.strictObject({
    documentId: z.uuid(),
    fileId: z.uuid(),
    sha256: z.string(),
    mediaType: z.string(),
    size: z.int(),
  }),
);

/** The body of an entry about a document: ids, days and codes. Number and authority are personal text. */
export function statementBody(documentId: string, keeperId: string, document: DocumentStatement) {
  const { kind, permitForm, jurisdiction, validFrom, validUntil, covers } = document;
  return { documentId, keeperId, kind, permitForm, jurisdiction, validFrom, validUntil, covers: [...covers] };
}

/** What an entry about a document is about: the document and the animals it covers by id. */
export function statementSubjects(documentId: string, document: DocumentStatement): string[] {
  return [documentId, ...animalIdsOf(document)];
}

/** The animals a document covers by id. */
export function animalIdsOf(document: Pick<DocumentStatement, 'covers'>): string[] {
  return document.covers.flatMap((cover) => (cover.what === 'animal' ? [cover.animalId] : []));
}
