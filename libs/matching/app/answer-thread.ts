import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, notFound, type Viewer } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideMessage } from '../core/thread.core.js';
import { lockThread, writeMessage } from '../store/thread-write.store.js';
import {
  messageInput,
  notifyThread,
  threadAnswered,
  threadIdInput,
  type ThreadOutcome,
  threadOutcome,
} from './thread-records.js';

export const answerThreadCommand = threadIdInput.extend({ message: messageInput, reveal: z.boolean().nullish() });
export type AnswerThreadCommand = z.infer<typeof answerThreadCommand>;

/** One side of a thread writes to the other. The keeper who was asked can show both names with it. */
@Injectable()
export class AnswerThread {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly notices: NoticeStore,
  ) {}

  /** NOT_FOUND for whoever is no side of it, THREAD_CLOSED, THREAD_HOLDER_REVEALS, THREAD_FULL, THREAD_AWAITS_ANSWER. */
  async execute(viewer: Viewer, command: AnswerThreadCommand): Promise<ThreadOutcome> {
    const request = { action: 'matching.answer-thread', input: command, outcome: threadOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const thread = await lockThread(tx, viewer, command.threadId);
      if (thread === null) throw notFound('thread');
      const plan = decideMessage(thread, thread.side, command.reveal ?? false);
      if (!plan.ok) return plan;
      const messageId = await writeMessage(tx, thread, command.message, plan.value.reveal);
      await notifyThread(tx, this.notices, 'thread_message', { id: thread.id, toKeeperId: thread.otherKeeperId });
      await tx.ledger.append(threadAnswered, {
        subjects: [thread.id, thread.animalId],
        body: {
          threadId: thread.id,
          animalId: thread.animalId,
          side: thread.side,
          messageId,
          revealed: plan.value.reveal,
        },
        personal: { message: command.message },
      });
      return decide({ threadId: thread.id });
    });
  }
}
