import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { checkStatement, type Cover, type DocumentStatement } from '../core/document.core.js';
import { checkExpiry } from '../jobs/check-expiry.job.js';
import { closeDocument, insertDocument, lockOwnDocument } from '../store/document-write.store.js';
import { checkCovers } from './check-covers.js';
import { documentSuperseded, statementBody, statementSubjects } from './document-ledger.js';

export type SupersedeDocumentCommand = {
  readonly documentId: string;
  readonly reason: string;
  /** What changes; a key that is left out stays as it is. */
  readonly changes: Partial<DocumentStatement>;
};

const outcome = z.object({ documentId: z.uuid() });

/** Replaces what was recorded of a document: a slip is corrected, or the authority prolonged it. The earlier record stays readable. */
@Injectable()
export class SupersedeDocument {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Gives the id of the new record; files go along. NOT_FOUND, FORBIDDEN, DOCUMENT_SUPERSEDED, and what recording refuses.
   * Animals that were covered before may stay covered after they were given away; new ones must be held or owned.
   */
  async execute(viewer: Viewer, command: SupersedeDocumentCommand): Promise<{ documentId: string }> {
    return this.uow.write(viewer, { action: 'document.supersede', input: command, outcome }, async (tx) => {
      const earlier = await lockOwnDocument(tx, viewer, command.documentId);
      if (earlier.superseded)
        return refuse('DOCUMENT_SUPERSEDED', 'This record of the document was replaced already. Read the new one.');
      const { keeperId, originalId } = earlier;
      const statement: DocumentStatement = { ...statementOf(earlier), ...command.changes };
      const sound = checkStatement(statement);
      if (!sound.ok) return sound;
      const known = new Set(earlier.covers.map(subjectOf));
      const added = statement.covers.filter((cover) => !known.has(subjectOf(cover)));
      const covered = await checkCovers(tx, viewer, keeperId, added);
      if (!covered.ok) return covered;
      const documentId = await insertDocument(tx, {
        ...statement,
        keeperId,
        originalId,
        recordedBy: viewer.accountId,
        reason: command.reason,
      });
      await closeDocument(tx, earlier.id, documentId);
      const subjects = statementSubjects(documentId, statement);
      await tx.ledger.append(documentSuperseded, {
        subjects: [...new Set([...subjects, ...statementSubjects(earlier.id, earlier)])],
        body: { ...statementBody(documentId, keeperId, statement), supersedes: earlier.id },
        personal: { number: statement.number, authority: statement.authority, reason: command.reason },
      });
      await tx.outbox.send(checkExpiry, { day: tx.today, documentId, batch: 0 });
      return decide({ documentId });
    });
  }
}

function statementOf(document: DocumentStatement): DocumentStatement {
  const { kind, permitForm, number, authority, jurisdiction, validFrom, validUntil, covers } = document;
  return { kind, permitForm, number, authority, jurisdiction, validFrom, validUntil, covers };
}

function subjectOf(cover: Cover): string {
  return cover.what === 'animal' ? cover.animalId : cover.what === 'taxon' ? cover.taxonId : '';
}
