import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, forbidden, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { tellTheft } from '../jobs/tell-theft.job.js';

export type ReplyToTheftCommand = { readonly reportId: string; readonly statement: string };

const theftReplied = defineLedgerAction(
  'custody.theft-replied',
  1,
  z.strictObject({ reportId: z.uuid(), animalId: z.uuid(), keeperId: z.uuid() }),
);

/** Who has, or lately had, an animal reported stolen states their side, once. */
@Injectable()
export class ReplyToTheft {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN for the reporter, THEFT_REPLIED, THEFT_REPORT_CLOSED. */
  async execute(viewer: Viewer, command: ReplyToTheftCommand): Promise<{ reportId: string }> {
    const request = { action: 'custody.reply-to-theft', input: command, outcome: z.object({ reportId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { reportId, statement } = command;
      await tx.db.$queryRaw`SELECT id FROM theft_report WHERE id = ${reportId}::uuid FOR NO KEY UPDATE`;
      const report = await tx.db.theftReport.findUnique({ where: { id: reportId } });
      if (report === null) throw notFound('report');
      const { animalId, respondentId } = report;
      if (respondentId === null || !actsFor(viewer, respondentId)) {
        if (actsFor(viewer, report.keeperId)) throw forbidden('A reply is the other side’s to give.');
        throw notFound('report');
      }
      if (report.reply !== null)
        return refuse('THEFT_REPLIED', 'Your side is stated already. What was said stays as it is.');
      if (report.closedAt !== null) return refuse('THEFT_REPORT_CLOSED', 'The report was closed.');
      await tx.db.theftReport.update({ where: { id: reportId }, data: { reply: statement, repliedAt: tx.now } });
      await tx.outbox.send(tellTheft, { reportId, what: 'replied' });
      await tx.ledger.append(theftReplied, {
        subjects: [animalId],
        body: { reportId, animalId, keeperId: respondentId },
        personal: { statement },
      });
      return decide({ reportId });
    });
  }
}
