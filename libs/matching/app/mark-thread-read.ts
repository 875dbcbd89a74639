import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, notFound, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { lockThread, markRead } from '../store/thread-write.store.js';
import { threadIdInput, type ThreadOutcome, threadOutcome, threadRead } from './thread-records.js';

export const markThreadReadCommand = threadIdInput;
export type MarkThreadReadCommand = z.infer<typeof markThreadReadCommand>;

/** One side says that it has read a thread. The other side does not learn of it. */
@Injectable()
export class MarkThreadRead {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for whoever is no side of it. */
  async execute(viewer: Viewer, { threadId }: MarkThreadReadCommand): Promise<ThreadOutcome> {
    const request = { action: 'matching.read-thread', input: { threadId }, outcome: threadOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const thread = await lockThread(tx, viewer, threadId);
      if (thread === null) throw notFound('thread');
      await markRead(tx, thread);
      await tx.ledger.append(threadRead, {
        subjects: [thread.id],
        body: { threadId, animalId: thread.animalId, side: thread.side },
      });
      return decide({ threadId });
    });
  }
}
