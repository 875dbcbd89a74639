import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { currentCustody } from '../../custody/index.js';
import {
  actsFor,
  type Decision,
  decide,
  invalidInput,
  notFound,
  rateLimited,
  refuse,
  roleFor,
  type Viewer,
} from '../../kernel/index.js';
import { mayTakePart, NoticeStore, standingOfOne } from '../../membership/index.js';
import { idInput } from '../../platform/input/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { DAYS_CLOSED, MAX_THREADS_A_DAY } from '../core/thread.core.js';
import { type AskerHistory, insertThread, lockAsker } from '../store/thread-write.store.js';
import { messageInput, notifyThread, threadOpened, type ThreadOutcome, threadOutcome } from './thread-records.js';

export const askHolderCommand = z.object({
  animalId: idInput,
  aboutAnimalId: idInput.nullish(),
  keeperId: idInput.nullish(),
  message: messageInput,
});
export type AskHolderCommand = z.infer<typeof askHolderCommand>;

const SECONDS_A_DAY = 86_400;

/** A keeper asks whoever has an animal, without learning who that is and without being named. */
@Injectable()
export class AskHolder {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly notices: NoticeStore,
  ) {}

  /**
   * NOT_FOUND for an animal the viewer may not see, or a second one the viewer neither has nor owns. ASK_NO_LONGER_YOURS,
   * ASK_OWN_ANIMAL, ASK_NOBODY, GUARDIAN_AWAITED, GUARDIAN_SPEAKS, THREAD_OPEN, THREAD_CLOSED_LATELY; RATE_LIMITED for the twenty-first thread in a day.
   */
  async execute(viewer: Viewer, command: AskHolderCommand): Promise<ThreadOutcome> {
    const askerKeeperId = pickKeeper(viewer, command.keeperId ?? null);
    const { animalId } = command;
    const aboutAnimalId = command.aboutAnimalId ?? null;
    const request = { action: 'matching.ask-holder', input: command, outcome: threadOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const may = mayTakePart('thread', await standingOfOne(tx, askerKeeperId), roleFor(viewer, askerKeeperId));
      if (!may.ok) return may;
      const history = await lockAsker(tx, askerKeeperId, animalId);
      await lockAnimals(tx, [animalId]);
      const holder = await findHolder(tx, viewer, animalId, aboutAnimalId);
      if (!holder.ok) return holder;
      const possible = decideAsk(history, tx.now);
      if (!possible.ok) return possible;
      const { threadId, messageId } = await insertThread(tx, {
        animalId,
        aboutAnimalId,
        askerKeeperId,
        holderKeeperId: holder.value,
        text: command.message,
      });
      await notifyThread(tx, this.notices, 'thread_opened', { id: threadId, toKeeperId: holder.value });
      await tx.ledger.append(threadOpened, {
        subjects: [threadId, animalId],
        body: { threadId, animalId, side: 'asker', messageId, aboutAnimalId },
        personal: { message: command.message },
      });
      return decide({ threadId });
    });
  }
}

/** On whose behalf the viewer asks: the keeper named, or the only one there is. */
function pickKeeper(viewer: Viewer, keeperId: string | null): string {
  if (keeperId !== null) {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    return keeperId;
  }
  const [only, ...more] = viewer.keepers;
  if (only !== undefined && more.length === 0) return only.keeperId;
  throw invalidInput([
    {
      path: 'input.keeperId',
      message: 'You act for several keepers, or for none.',
      remedy: 'Name the keeper of yours on whose behalf you ask.',
    },
  ]);
}

/** The keeper to ask. The animal is locked, so that it is with nobody else when the thread begins. */
async function findHolder(
  tx: Tx,
  viewer: Viewer,
  animalId: string,
  aboutAnimalId: string | null,
): Promise<Decision<string>> {
  const seen = await findAccess(tx.db, viewer, aboutAnimalId === null ? [animalId] : [animalId, aboutAnimalId]);
  const level = seen.get(animalId)?.level;
  if (level === undefined) throw notFound('animal');
  if (aboutAnimalId !== null && seen.get(aboutAnimalId)?.level !== 'full') throw notFound('animal');
  // Said before anything is looked at that happened since.
  if (level === 'past')
    return refuse('ASK_NO_LONGER_YOURS', 'You gave this animal away, and it is not shared with you today.');
  const holder = (await currentCustody(tx, [animalId])).get(animalId)?.holder;
  const asked = holder?.kind === 'keeper' ? await standingOfOne(tx, holder.keeperId) : null;
  // Nobody speaks for a minor's keeper without a guardian, which is not the asker's to know.
  if (holder?.kind !== 'keeper' || (asked?.minor === true && !asked.guarded))
    return refuse('ASK_NOBODY', 'Nobody in the registry can be asked about this animal at present.');
  if (actsFor(viewer, holder.keeperId)) return refuse('ASK_OWN_ANIMAL', 'The animal is with a keeper of your own.');
  return decide(holder.keeperId);
}

function decideAsk({ openThreadId, closedLately, openedInADay }: AskerHistory, now: Date): Decision<null> {
  if (openThreadId !== null)
    return refuse('THREAD_OPEN', 'A thread of this keeper about this animal is open already.', {
      blockers: [{ kind: 'thread', id: openThreadId, remedy: 'Write in that one, or close it first.' }],
    });
  if (closedLately)
    return refuse(
      'THREAD_CLOSED_LATELY',
      `The keeper who was asked about this animal has closed the thread. Ask again ${DAYS_CLOSED} days after that.`,
    );
  const [oldest] = openedInADay;
  if (openedInADay.length >= MAX_THREADS_A_DAY && oldest !== undefined)
    throw rateLimited(Math.max(1, Math.ceil(SECONDS_A_DAY - (now.getTime() - oldest.getTime()) / 1000)));
  return decide(null);
}
