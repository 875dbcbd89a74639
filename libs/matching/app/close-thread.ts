import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, notFound, type Viewer } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideClose } from '../core/thread.core.js';
import { closeThreadRow, lockThread } from '../store/thread-write.store.js';
import { notifyThread, threadClosed, threadIdInput, type ThreadOutcome, threadOutcome } from './thread-records.js';

export const closeThreadCommand = threadIdInput;
export type CloseThreadCommand = z.infer<typeof closeThreadCommand>;

/** One side ends a thread: nothing more can be written in it, and the asker is kept from asking anew for a while. */
@Injectable()
export class CloseThread {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly notices: NoticeStore,
  ) {}

  /** NOT_FOUND for whoever is no side of it, THREAD_CLOSED. */
  async execute(viewer: Viewer, { threadId }: CloseThreadCommand): Promise<ThreadOutcome> {
    const request = { action: 'matching.close-thread', input: { threadId }, outcome: threadOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const thread = await lockThread(tx, viewer, threadId);
      if (thread === null) throw notFound('thread');
      const possible = decideClose(thread);
      if (!possible.ok) return possible;
      await closeThreadRow(tx, thread);
      await notifyThread(tx, this.notices, 'thread_closed', { id: thread.id, toKeeperId: thread.otherKeeperId });
      await tx.ledger.append(threadClosed, {
        subjects: [thread.id, thread.animalId],
        body: { threadId, animalId: thread.animalId, side: thread.side },
      });
      return decide({ threadId });
    });
  }
}
