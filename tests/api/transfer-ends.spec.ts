import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

type Item = { animalId: string; notSent: boolean; photoFileIds: string[]; arrivals: { state: string }[] };
type Transfer = {
  id: string;
  state: string;
  cancelledBy: string | null;
  endedReason: string | null;
  failure: { kind: string; declaredBy: string } | null;
  conditions: { id: string; kind: string; settledAs: string | null }[];
  items: Item[];
  viewerCan: Record<'send' | 'receive' | 'cancel' | 'fail' | 'leaveOut', boolean>;
};

const FIELDS = `id state cancelledBy endedReason failure { kind declaredBy } conditions { id kind settledAs }
  items { animalId notSent photoFileIds arrivals { state } } viewerCan { send receive cancel fail leaveOut }`;

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let giver: TestKeeper;
let receiver: TestKeeper;
let stranger: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
  stranger = await world.keeper('Stranger');
});
beforeEach(async () => {
  [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
});
afterAll(async () => {
  await world.close();
  await test.close();
});

function send(name: string, input: object, who: TestKeeper): Promise<Answer<Record<string, { transfer: Transfer }>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const query = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { ${FIELDS} } } }`;
  return test.ask(query, { input }, who.token);
}

async function done(name: string, input: object, who: TestKeeper): Promise<Transfer> {
  const { data, errors } = await send(name, input, who);
  const made = data?.[name];
  if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return made.transfer;
}

/** The rule, or else the code, by which it is refused; undefined when it was done. */
async function refusal(name: string, input: object, who: TestKeeper): Promise<string | undefined> {
  const { extensions } = (await send(name, input, who)).errors?.[0] ?? {};
  return extensions?.rule ?? extensions?.code;
}

async function read(id: string, who: TestKeeper): Promise<Transfer | null> {
  const query = `query ($id: ID!) { transfer(id: $id) { ${FIELDS} } }`;
  return (await test.ask<{ transfer: Transfer }>(query, { id }, who.token)).data?.transfer ?? null;
}

/** Kinds of the notices that the worker is told to write for a keeper about a transfer, in order. */
async function toldOf(transferId: string, who: TestKeeper): Promise<string[]> {
  const jobs = await world.db.outboxMessage.findMany({
    where: { job: 'transfer.tell-other-side', payload: { path: ['transferId'], equals: transferId } },
    orderBy: { id: 'asc' },
  });
  const payloads = jobs.map(({ payload }) => payload as { keeperId: string; what: string });
  return payloads.flatMap(({ keeperId, what }) => (keeperId === who.keeperId ? [what] : []));
}

/** Whether somebody reads the record of the animal, of which its notes are a part. */
async function readsRecord(animalId: string, who: TestKeeper): Promise<boolean> {
  const query = 'query ($id: ID!) { animal(id: $id) { notes { edges { cursor } } } }';
  const { data } = await test.ask<{ animal: { notes: object | null } | null }>(query, { id: animalId }, who.token);
  return (data?.animal?.notes ?? null) !== null;
}

async function holder(animalId: string): Promise<(string | null)[]> {
  const rows = await world.db.custody.findMany({ where: { animalId, supersededAt: null, validTo: null } });
  return rows.map(({ keeperId }) => keeperId);
}

const today = () => new Date().toISOString().slice(0, 10);

const offer = (animalIds: string[], more: object = {}) => ({
  fromKeeperId: giver.keeperId,
  kind: 'gift',
  toKeeperId: receiver.keeperId,
  items: animalIds.map((animalId) => ({ animalId })),
  ...more,
});

async function accepted(animalIds: string[], more: object = {}): Promise<Transfer> {
  const { id: transferId } = await done('offerTransfer', offer(animalIds, more), giver);
  return done('acceptTransfer', { transferId }, receiver);
}

async function sent(animalIds: string[]): Promise<string> {
  const { id: transferId } = await accepted(animalIds);
  await done('sendTransfer', { transferId, sentOn: today(), way: 'shipment' }, giver);
  return transferId;
}

describe('cancelTransfer', () => {
  it('either side calls off what was accepted; both read why, and the animal is as before', async () => {
    const animalId = await world.animal(giver, taxon);
    const { id: transferId } = await accepted([animalId]);
    const input = { transferId, reason: 'The road is closed.' };
    expect(await readsRecord(animalId, receiver)).toBe(true);
    expect(await refusal('cancelTransfer', input, stranger)).toBe('NOT_FOUND');
    expect(await refusal('cancelTransfer', { ...input, reason: ' ' }, receiver)).toBe('INVALID_INPUT');
    expect(await done('cancelTransfer', input, receiver)).toMatchObject({
      state: 'cancelled',
      cancelledBy: 'receiver',
    });
    for (const who of [giver, receiver]) {
      const seen = await read(transferId, who);
      expect(seen).toMatchObject({ state: 'cancelled', cancelledBy: 'receiver', endedReason: 'The road is closed.' });
      expect(Object.values(seen?.viewerCan ?? { all: true })).not.toContain(true);
    }
    expect(await read(transferId, stranger)).toBeNull();
    expect(await readsRecord(animalId, receiver)).toBe(false);
    expect(await holder(animalId)).toEqual([giver.keeperId]);
    expect(await toldOf(transferId, giver)).toEqual(['accepted', 'cancelled']);
    expect(await refusal('cancelTransfer', input, giver)).toBe('TRANSFER_NOT_CANCELLABLE');
    expect((await done('offerTransfer', offer([animalId]), giver)).state).toBe('offered');
  });

  it('what was sent is not cancelled', async () => {
    const transferId = await sent([await world.animal(giver, taxon)]);
    expect(await refusal('cancelTransfer', { transferId, reason: 'No.' }, giver)).toBe('TRANSFER_NOT_CANCELLABLE');
    expect((await read(transferId, receiver))?.state).toBe('sent');
  });
});

describe('failTransfer', () => {
  it('has failed once both say the same; until then it is sent, and afterwards the giver has had the animal all along', async () => {
    const animalId = await world.animal(giver, taxon);
    const transferId = await sent([animalId]);
    const input = { transferId, failure: 'never_arrived', reason: 'Lost at the depot.' };
    expect(await refusal('failTransfer', input, stranger)).toBe('NOT_FOUND');
    const said = { state: 'sent', failure: { kind: 'never_arrived', declaredBy: 'giver' } };
    expect(await done('failTransfer', input, giver)).toMatchObject(said);
    expect(await read(transferId, receiver)).toMatchObject(said);
    expect(await refusal('failTransfer', input, giver)).toBe('TRANSFER_FAILURE_DECLARED');
    const other = { transferId, failure: 'came_back' };
    expect(await refusal('failTransfer', other, receiver)).toBe('TRANSFER_FAILURE_DIFFERS');
    expect(await refusal('offerTransfer', offer([animalId]), giver)).toBe('TRANSFER_OPEN');
    await done('failTransfer', { transferId, failure: 'never_arrived' }, receiver);
    for (const who of [giver, receiver])
      expect(await read(transferId, who)).toMatchObject({
        ...said,
        state: 'failed',
        endedReason: 'Lost at the depot.',
      });
    expect(await readsRecord(animalId, receiver)).toBe(false);
    const custody = await world.db.custody.findMany({ where: { animalId } });
    expect(custody).toMatchObject([{ keeperId: giver.keeperId, validTo: null, supersededAt: null }]);
    expect(await toldOf(transferId, receiver)).toEqual(['offered', 'sent', 'failure_declared']);
    expect(await toldOf(transferId, giver)).toEqual(['accepted', 'failed']);
    expect((await done('offerTransfer', offer([animalId]), giver)).state).toBe('offered');
  });

  it('a receipt takes back what one side said', async () => {
    const animalId = await world.animal(giver, taxon);
    const transferId = await sent([animalId]);
    await done('failTransfer', { transferId, failure: 'never_arrived' }, giver);
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await done('receiveTransfer', { transferId, receivedOn: today(), items }, receiver);
    for (const who of [giver, receiver])
      expect(await read(transferId, who)).toMatchObject({ state: 'received', failure: null });
    expect(await holder(animalId)).toEqual([receiver.keeperId]);
    expect(await refusal('failTransfer', { transferId, failure: 'came_back' }, receiver)).toBe('TRANSFER_NOT_SENT');
  });
});

describe('leaveOutItems', () => {
  it('the giver alone leaves out what never left; it is free again, and the rest is received', async () => {
    const [kept, gone] = [await world.animal(giver, taxon), await world.animal(giver, taxon)];
    const transferId = await sent([kept, gone]);
    const input = { transferId, animalIds: [kept] };
    expect(await refusal('leaveOutItems', input, stranger)).toBe('NOT_FOUND');
    expect(await refusal('leaveOutItems', input, receiver)).toBe('FORBIDDEN');
    await done('leaveOutItems', input, giver);
    for (const who of [giver, receiver]) {
      const items = (await read(transferId, who))?.items ?? [];
      expect(items.map(({ animalId, notSent }) => [animalId, notSent])).toEqual([
        [kept, true],
        [gone, false],
      ]);
    }
    expect([await readsRecord(kept, receiver), await readsRecord(gone, receiver)]).toEqual([false, true]);
    expect(await toldOf(transferId, receiver)).toEqual(['offered', 'sent', 'left_out']);
    expect(await refusal('leaveOutItems', input, giver)).toBe('TRANSFER_ITEM_NOT_ON_WAY');
    const arrived = (animalId: string) => [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    const receipt = { transferId, receivedOn: today(), items: arrived(gone) };
    expect(await refusal('receiveTransfer', { ...receipt, items: arrived(kept) }, receiver)).toBe(
      'TRANSFER_ARRIVALS_INCOMPLETE',
    );
    expect((await done('receiveTransfer', receipt, receiver)).state).toBe('received');
    expect([await holder(kept), await holder(gone)]).toEqual([[giver.keeperId], [receiver.keeperId]]);
    expect((await done('offerTransfer', offer([kept]), giver)).state).toBe('offered');
  });
});

describe('settleTransferCondition', () => {
  it('the receiver alone settles each, once; until then the giver cannot send', async () => {
    const animalId = await world.animal(giver, taxon);
    const conditions = [
      { kind: 'other', text: 'The terrarium is ready.' },
      { kind: 'document', documentKind: 'veterinary' },
    ];
    const { id: transferId, conditions: agreed } = await accepted([animalId], { conditions });
    const sending = { transferId, sentOn: today() };
    const idOf = (kind: string) => agreed.find((condition) => condition.kind === kind)?.id;
    const ready = { transferId, conditionId: idOf('other'), settledAs: 'met' };
    expect(await refusal('sendTransfer', sending, giver)).toBe('TRANSFER_CONDITION_OPEN');
    expect(await refusal('settleTransferCondition', ready, giver)).toBe('FORBIDDEN');
    expect(await refusal('settleTransferCondition', ready, stranger)).toBe('NOT_FOUND');
    expect(await refusal('settleTransferCondition', { ...ready, conditionId: transferId }, receiver)).toBe('NOT_FOUND');
    await done('settleTransferCondition', ready, receiver);
    expect(await refusal('settleTransferCondition', { ...ready, settledAs: 'waived' }, receiver)).toBe(
      'TRANSFER_CONDITION_SETTLED',
    );
    expect(await refusal('sendTransfer', sending, giver)).toBe('TRANSFER_CONDITION_OPEN');
    const waived = { transferId, conditionId: idOf('document'), settledAs: 'waived' };
    await done('settleTransferCondition', waived, receiver);
    for (const who of [giver, receiver]) {
      const settled = (await read(transferId, who))?.conditions.map(({ kind, settledAs }) => [kind, settledAs]) ?? [];
      expect(Object.fromEntries(settled)).toEqual({ other: 'met', document: 'waived' });
    }
    expect(await toldOf(transferId, giver)).toEqual(['accepted', 'condition_settled', 'condition_settled']);
    expect((await done('sendTransfer', sending, giver)).state).toBe('sent');
    expect(await refusal('settleTransferCondition', waived, receiver)).toBe('TRANSFER_CONDITION_SETTLED');
  });
});

describe('addArrivalPhotos', () => {
  async function upload(who: TestKeeper, animalId: string, shade: number): Promise<string> {
    const background = { r: shade, g: 140, b: 60 };
    const picture = await sharp({ create: { width: 40, height: 30, channels: 3, background } })
      .jpeg()
      .toBuffer();
    const answer = await test
      .http()
      .put(`/animals/${animalId}/files`)
      .query({ name: 'box.jpg' })
      .set('content-type', 'image/jpeg')
      .set('authorization', `Bearer ${who.token}`)
      .send(picture);
    return (answer.body as { id: string }).id;
  }
  const fetched = async (transferId: string, fileId: string, who: TestKeeper) =>
    (
      await test
        .http()
        .get(`/transfers/${transferId}/arrival-photos/${fileId}`)
        .set('authorization', `Bearer ${who.token}`)
    ).status;

  it('the receiver shows how it arrived; both parties see the picture, nobody else, and none that is withdrawn', async () => {
    const animalId = await world.animal(giver, taxon);
    const before = await upload(giver, animalId, 20);
    const transferId = await sent([animalId]);
    const items = [{ animalId, arrivals: [{ state: 'not_as_described', count: 1 }] }];
    await done('receiveTransfer', { transferId, receivedOn: today(), items }, receiver);
    const fileId = await upload(receiver, animalId, 120);
    const other = await upload(receiver, animalId, 220);
    const input = { transferId, animalId, fileIds: [fileId] };
    expect(await refusal('addArrivalPhotos', input, giver)).toBe('FORBIDDEN');
    expect(await refusal('addArrivalPhotos', input, stranger)).toBe('NOT_FOUND');
    expect(await refusal('addArrivalPhotos', { ...input, fileIds: [fileId, before] }, receiver)).toBe('NOT_FOUND');
    expect((await done('addArrivalPhotos', input, receiver)).items[0]?.photoFileIds).toEqual([fileId]);
    for (const who of [giver, receiver]) {
      expect((await read(transferId, who))?.items[0]?.photoFileIds).toEqual([fileId]);
      expect(await fetched(transferId, fileId, who)).toBe(200);
    }
    expect(await fetched(transferId, fileId, stranger)).toBe(404);
    // What the receiver keeps of the animal besides is not the giver's to see.
    expect(await fetched(transferId, other, giver)).toBe(404);
    await test.get(
      'mutation ($input: WithdrawAnimalFileInput!) { withdrawAnimalFile(input: $input) { __typename } }',
      { input: { fileId, reason: 'A wrong picture.' } },
      receiver.token,
    );
    expect(await fetched(transferId, fileId, giver)).toBe(404);
  });
});
