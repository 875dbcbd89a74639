import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, notFound, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { checkStatement, type DocumentStatement } from '../core/document.core.js';
import { checkExpiry } from '../jobs/check-expiry.job.js';
import { insertDocument } from '../store/document-write.store.js';
import { checkCovers } from './check-covers.js';
import { documentRecorded, statementBody, statementSubjects } from './document-ledger.js';

export type RecordDocumentCommand = DocumentStatement & { readonly keeperId: string };

const outcome = z.object({ documentId: z.uuid() });

/** Records a holding document of an own keeper. */
@Injectable()
export class RecordDocument {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives its id. NOT_FOUND (keeper, animal, taxon), COVER_NOT_HELD, and what `checkStatement` refuses. */
  async execute(viewer: Viewer, command: RecordDocumentCommand): Promise<{ documentId: string }> {
    const { keeperId, ...statement } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    return this.uow.write(viewer, { action: 'document.record', input: command, outcome }, async (tx) => {
      const sound = checkStatement(statement);
      if (!sound.ok) return sound;
      const covered = await checkCovers(tx, viewer, keeperId, statement.covers);
      if (!covered.ok) return covered;
      const recorded = { ...statement, keeperId, originalId: null, recordedBy: viewer.accountId, reason: null };
      const documentId = await insertDocument(tx, recorded);
      await tx.ledger.append(documentRecorded, {
        subjects: statementSubjects(documentId, statement),
        body: statementBody(documentId, keeperId, statement),
        personal: { number: statement.number, authority: statement.authority },
      });
      await tx.outbox.send(checkExpiry, { day: tx.today, documentId, batch: 0 });
      return decide({ documentId });
    });
  }
}
