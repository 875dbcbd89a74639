import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { noticeGroup } from '../../libs/membership/notices/notice-group.core.js';
import { noticeMail } from '../../libs/membership/notices/notice-mail.core.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { JobRegistry, JobRunner } from '../../libs/platform/jobs/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { TellTransferHandler } from '../../libs/transfer/index.js';
import { tellTransfer, TRANSFER_NEWS, transferNoticeKind } from '../../libs/transfer/jobs/tell-transfer.job.js';
import { arrived, gift, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let giver: Party;
let receiver: Party;
beforeAll(async () => {
  w = await transferWorld();
  [giver, receiver] = [await w.party('Giver'), await w.party('Receiver')];
});
afterAll(() => w.close());

async function offered(...animals: string[]): Promise<string> {
  return (await w.offer.execute(giver.viewer, { ...gift(giver, receiver, ...animals), answerBy: TODAY })).transferId;
}
async function sent(...animals: string[]): Promise<string> {
  const transferId = await offered(...animals);
  await w.accept.execute(receiver.viewer, { transferId });
  await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
  return transferId;
}

/** Does the jobs of a transfer, twice; gives the notices about it, in the order of the acts. */
async function told(transferId: string): Promise<(readonly [string, string])[]> {
  const handler = new TellTransferHandler(new NoticeStore({ client: w.client } as Database));
  const runner = new JobRunner(w.client, w.uow, new JobRegistry([handler.job], [handler]));
  const messages = await w.client.outboxMessage.findMany({
    where: { job: tellTransfer.name, payload: { path: ['transferId'], equals: transferId } },
    orderBy: { id: 'asc' },
  });
  for (const { id } of [...messages, ...messages]) await runner.run(id, true);
  const notices = await w.client.notice.findMany({
    where: { body: { path: ['transferId'], equals: transferId } },
    orderBy: { id: 'asc' },
  });
  return notices.map(({ keeperId, kind }) => [keeperId === giver.keeperId ? 'giver' : 'receiver', kind] as const);
}

it('each step is told to the side that did not take it, once', async () => {
  const transferId = await sent(await w.animal(giver));
  const [{ animalId } = { animalId: '' }] = (await w.store.getVisible(giver.viewer, transferId)).transfer.items;
  const items = [arrived(animalId, { well: 1 })];
  await w.receive.execute(receiver.viewer, { transferId, receivedOn: TODAY, items });
  expect(await told(transferId)).toEqual([
    ['receiver', 'transfer_offered'],
    ['giver', 'transfer_accepted'],
    ['receiver', 'transfer_sent'],
    ['giver', 'transfer_received'],
  ]);
  const offer = await w.client.notice.findFirst({ where: { kind: 'transfer_offered' } });
  expect(offer?.dueOn?.toISOString().slice(0, 10)).toBe(TODAY);
});

it('so is every way in which one ends', async () => {
  const declined = await offered(await w.animal(giver));
  await w.decline.execute(receiver.viewer, { transferId: declined });
  const withdrawn = await offered(await w.animal(giver));
  await w.withdraw.execute(giver.viewer, { transferId: withdrawn });
  const cancelled = await offered(await w.animal(giver));
  await w.accept.execute(receiver.viewer, { transferId: cancelled });
  await w.cancel.execute(receiver.viewer, { transferId: cancelled, reason: 'test' });
  const failed = await sent(await w.animal(giver));
  await w.fail.execute(giver.viewer, { transferId: failed, failure: 'came_back' });
  await w.fail.execute(receiver.viewer, { transferId: failed, failure: 'came_back' });
  expect((await told(declined)).at(-1)).toEqual(['giver', 'transfer_declined']);
  expect((await told(withdrawn)).at(-1)).toEqual(['receiver', 'transfer_withdrawn']);
  expect((await told(cancelled)).at(-1)).toEqual(['giver', 'transfer_cancelled']);
  expect((await told(failed)).slice(-2)).toEqual([
    ['receiver', 'transfer_failure_declared'],
    ['giver', 'transfer_failed'],
  ]);
});

it('an outside party is nobody to tell', async () => {
  const toOutsideParty = { name: 'A buyer' };
  const command = { ...gift(giver, receiver, await w.animal(giver)), toKeeperId: null, toOutsideParty };
  const { transferId } = await w.offer.execute(giver.viewer, command);
  await w.accept.execute(giver.viewer, { transferId });
  expect(await told(transferId)).toEqual([]);
});

it('each piece of news has its words, and a group in which it is chosen', () => {
  const general = noticeMail({ kind: 'a kind made later', dueOn: null }, TODAY).subject;
  for (const what of TRANSFER_NEWS) {
    const kind = transferNoticeKind(what);
    expect(noticeGroup(kind)).toBe('transfers');
    expect(noticeMail({ kind, dueOn: null }, TODAY).subject).not.toBe(general);
  }
});
