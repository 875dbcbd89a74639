import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { type Viewer } from '../../libs/kernel/index.js';
import { AnswerThread } from '../../libs/matching/app/answer-thread.js';
import { AskHolder } from '../../libs/matching/app/ask-holder.js';
import { CloseThread } from '../../libs/matching/app/close-thread.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { holdRow, type Party, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let holder: Party;
let asker: Viewer;
let ask: AskHolder;
let answer: AnswerThread;
let close: CloseThread;

beforeAll(async () => {
  w = await transferWorld();
  holder = await w.party('Holder');
  const party = await w.party('Asker');
  const clubId = uuid();
  await w.client.club.create({ data: { id: clubId, slug: clubId, name: 'Club', createdAt: new Date() } });
  await w.client.clubMember.createMany({
    data: [holder, party].map(({ keeperId }) => ({ clubId, keeperId, joinedOn: new Date('2025-01-01') })),
  });
  asker = { ...party.viewer, clubIds: [clubId] };
  const notices = new NoticeStore({ client: w.client } as Database);
  ask = new AskHolder(w.uow, notices);
  answer = new AnswerThread(w.uow, notices);
  close = new CloseThread(w.uow, notices);
});
afterAll(() => w.close());

const rules = (settled: PromiseSettledResult<unknown>[]) =>
  settled.flatMap((one) => (one.status === 'rejected' ? [(one.reason as { rule?: string }).rule] : []));

it.each([1, 2, 3])('two questions at once about one animal begin one thread (%i)', async () => {
  const animalId = await w.animal(holder);
  const barrier = await holdRow(w.url, 'animal', animalId);
  const both = Promise.allSettled([
    ask.execute(asker, { animalId, message: 'One?' }),
    ask.execute(asker, { animalId, message: 'Two?' }),
  ]);
  await barrier.releaseWhenWaiting(2);
  expect(rules(await both)).toEqual(['THREAD_OPEN']);
  expect(await w.client.askThread.count({ where: { animalId } })).toBe(1);
});

it.each([1, 2, 3])('an answer and the end of a thread at once: nothing is written after the end (%i)', async () => {
  const animalId = await w.animal(holder);
  const { threadId } = await ask.execute(asker, { animalId, message: 'One?' });
  const barrier = await holdRow(w.url, 'ask_thread', threadId);
  const both = Promise.allSettled([
    close.execute(asker, { threadId }),
    answer.execute(holder.viewer, { threadId, message: 'Yes.' }),
  ]);
  await barrier.releaseWhenWaiting(2);
  const refused = rules(await both);
  const { closedAt, closedBy, messages } = await w.client.askThread.findUniqueOrThrow({
    where: { id: threadId },
    include: { messages: { orderBy: { sentAt: 'asc' } } },
  });
  expect(closedBy).toBe('asker');
  // Either the end came first and the answer was refused, or the answer stands before the end.
  expect(refused).toEqual(messages.length === 1 ? ['THREAD_CLOSED'] : []);
  expect(messages.length).toBeLessThanOrEqual(2);
  expect(closedAt).not.toBeNull();
});

it('both sides end a thread at once: one of them does', async () => {
  const animalId = await w.animal(holder);
  const { threadId } = await ask.execute(asker, { animalId, message: 'One?' });
  const barrier = await holdRow(w.url, 'ask_thread', threadId);
  const both = Promise.allSettled([close.execute(asker, { threadId }), close.execute(holder.viewer, { threadId })]);
  await barrier.releaseWhenWaiting(2);
  expect(rules(await both)).toEqual(['THREAD_CLOSED']);
  expect(await w.client.ledgerEntry.count({ where: { action: 'thread.closed', subjects: { has: threadId } } })).toBe(1);
});
