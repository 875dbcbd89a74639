import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, notFound, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { markRead } from './notice-read.store.js';

/** Notices of one keeper; all of them where none is named. */
export const markNoticesReadCommand = z.object({
  keeperId: idInput,
  noticeIds: z.array(idInput).max(100, 'These are too many at once. | Name at most 100, or none for all.').nullish(),
});

const noticesRead = defineLedgerAction(
  'account.notices-read',
  1,
  z.strictObject({ accountId: z.uuid(), keeperId: z.uuid(), count: z.int().positive() }),
);

/** Says that the own account has read notices; others who act for the keeper have theirs unread still. */
@Injectable()
export class MarkNoticesRead {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a keeper the viewer does not act for; ids that are not notices of the keeper are passed over. */
  async execute(viewer: Viewer, command: z.infer<typeof markNoticesReadCommand>): Promise<{ keeperId: string }> {
    const { keeperId, noticeIds } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const outcome = z.object({ keeperId: z.uuid() });
    return this.uow.write(viewer, { action: 'membership.mark-notices-read', input: command, outcome }, async (tx) => {
      const { accountId } = viewer;
      const count = await markRead(tx, accountId, keeperId, noticeIds ?? null);
      if (count > 0)
        await tx.ledger.append(noticesRead, { subjects: [accountId], body: { accountId, keeperId, count } });
      return decide({ keeperId });
    });
  }
}
