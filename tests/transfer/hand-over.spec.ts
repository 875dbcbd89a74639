import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { findAccess } from '../../libs/access/index.js';
import { day } from '../../libs/kernel/index.js';
import {
  arrived,
  gift,
  type Party,
  REGISTERED,
  TODAY,
  transferWorld,
  type TransferWorld,
} from '../support/transfer-world.js';

const SENT = day('2026-06-02');
const RECEIVED = day('2026-06-04');

let w: TransferWorld;
let giver: Party;
let receiver: Party;
let stranger: Party;
beforeAll(async () => {
  w = await transferWorld();
  [giver, receiver, stranger] = [await w.party('Haus Lindenau'), await w.party('Marek Sova'), await w.party('Third')];
});
afterAll(() => w.close());

const level = async (party: Party, animalId: string) =>
  (await findAccess(w.client, party.viewer, [animalId])).get(animalId)?.level ?? 'none';

async function sentTransfer(...animalIds: string[]): Promise<string> {
  const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, ...animalIds));
  await w.accept.execute(receiver.viewer, { transferId });
  await w.send.execute(giver.viewer, { transferId, sentOn: SENT });
  return transferId;
}

describe('a juvenile changes keepers', () => {
  it('from offer to receipt: the giver holds until received, then custody, property and reading move on one day', async () => {
    const animal = await w.animal(giver);
    const { transferId, claimCode } = await w.offer.execute(giver.viewer, gift(giver, receiver, animal));
    expect(claimCode).toBeNull();
    expect(await level(receiver, animal)).toBe('offered');
    await w.accept.execute(receiver.viewer, { transferId, expectedVersion: 1 });
    await w.send.execute(giver.viewer, { transferId, sentOn: SENT });
    expect(await w.custody(animal)).toEqual([
      { holder: giver.keeperId, from: REGISTERED, to: null, arrivedBy: 'registered', leftBy: null },
    ]);

    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(animal, { well: 1 })],
    });
    expect(await w.custody(animal)).toEqual([
      { holder: giver.keeperId, from: REGISTERED, to: RECEIVED, arrivedBy: 'registered', leftBy: 'given' },
      { holder: receiver.keeperId, from: RECEIVED, to: null, arrivedBy: 'received', leftBy: null },
    ]);
    expect(await w.owners(animal)).toEqual([[receiver.keeperId, 1]]);
    expect([await level(giver, animal), await level(receiver, animal), await level(stranger, animal)]).toEqual([
      'past',
      'full',
      'none',
    ]);
    const open = await w.client.animalAccess.count({
      where: { animalId: animal, relation: 'receiver', validTo: null },
    });
    expect(open).toBe(0);

    const { transfer } = await w.store.getVisible(receiver.viewer, transferId);
    expect(transfer).toMatchObject({ state: 'received', sentOn: SENT, receivedOn: RECEIVED, version: 4 });
    expect((await w.ledger(transferId)).map((entry) => entry.action)).toEqual([
      'transfer.offered',
      'transfer.accepted',
      'transfer.sent',
      'transfer.received',
    ]);
    const jobs = await w.client.outboxMessage.findMany({
      where: { payload: { path: ['transferId'], equals: transferId } },
      orderBy: { id: 'asc' },
    });
    const told = jobs.filter(({ job }) => job === 'transfer.tell-other-side').map(({ payload }) => payload);
    expect(told).toEqual([
      { transferId, keeperId: receiver.keeperId, what: 'offered' },
      { transferId, keeperId: giver.keeperId, what: 'accepted' },
      { transferId, keeperId: receiver.keeperId, what: 'sent' },
      { transferId, keeperId: giver.keeperId, what: 'received' },
    ]);
    expect(
      jobs.filter(({ job }) => job !== 'transfer.tell-other-side').map(({ job, payload }) => [job, payload]),
    ).toEqual([['transfer.remind-arrival-quarantine', { transferId, keeperId: receiver.keeperId }]]);
  });

  it('dead on arrival: with the receiver from that day, and dead on it', async () => {
    const animal = await w.animal(giver);
    const transferId = await sentTransfer(animal);
    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(animal, { dead: 1 })],
    });
    expect((await w.custody(animal)).at(-1)).toEqual({
      holder: receiver.keeperId,
      from: RECEIVED,
      to: RECEIVED,
      arrivedBy: 'received',
      leftBy: 'died',
    });
    expect(await w.client.animal.findUnique({ where: { id: animal } })).toMatchObject({ fate: 'dead', count: 0 });
  });

  it('missing or refused: stays the giver’s, the missing one with nobody known', async () => {
    const [lost, back] = [await w.animal(giver), await w.animal(giver)];
    const transferId = await sentTransfer(lost, back);
    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(lost, { missing: 1 }), arrived(back, { refused: 1 })],
    });
    expect(await w.custody(back)).toMatchObject([{ holder: giver.keeperId, to: null }]);
    expect(await w.custody(lost)).toMatchObject([
      { holder: giver.keeperId, to: RECEIVED, leftBy: 'missing' },
      { holder: null, from: RECEIVED, to: null, arrivedBy: 'lost' },
    ]);
    for (const animal of [lost, back]) {
      expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
      expect(await level(receiver, animal)).toBe('none');
    }
    const fates = await w.client.animal.findMany({ where: { id: { in: [lost, back] } }, orderBy: { id: 'asc' } });
    expect(fates.map((row) => row.fate)).toEqual(['missing', 'alive']);
    // The refused one can be offered again at once; the missing one cannot.
    await expect(w.offer.execute(giver.viewer, gift(giver, receiver, lost))).rejects.toMatchObject({
      rule: 'TRANSFER_ANIMAL_GONE',
    });
    await w.offer.execute(giver.viewer, gift(giver, receiver, back));
  });

  it('declined or withdrawn: the receiver reads nothing any more, and the animal can be offered again', async () => {
    const animal = await w.animal(giver);
    const first = await w.offer.execute(giver.viewer, gift(giver, receiver, animal));
    await expect(w.offer.execute(giver.viewer, gift(giver, stranger, animal))).rejects.toMatchObject({
      rule: 'TRANSFER_OPEN',
      blockers: [{ kind: 'transfer', id: first.transferId }],
    });
    await w.decline.execute(receiver.viewer, { transferId: first.transferId });
    expect(await level(receiver, animal)).toBe('none');
    const second = await w.offer.execute(giver.viewer, gift(giver, stranger, animal));
    await w.withdraw.execute(giver.viewer, { transferId: second.transferId });
    expect(await level(stranger, animal)).toBe('none');
  });
});

describe('lots', () => {
  it('a part is split off and sent; one dies on the way: opening + in − out = closing in both books', async () => {
    const lot = await w.animal(giver, { lotOf: 20 });
    const offer = { ...gift(giver, receiver), items: [{ animalId: lot, count: 8 }] };
    const { transferId } = await w.offer.execute(giver.viewer, { ...offer, splitOn: SENT });
    const [item] = (await w.store.getVisible(giver.viewer, transferId)).transfer.items;
    const part = item?.animalId ?? '';
    expect(part).not.toBe(lot);
    await w.accept.execute(receiver.viewer, { transferId });
    await w.send.execute(giver.viewer, { transferId, sentOn: SENT });
    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(part, { well: 7, dead: 1 })],
    });

    const counts = await w.client.animal.findMany({ where: { id: { in: [lot, part] } }, orderBy: { id: 'asc' } });
    expect(counts.map((row) => row.count)).toEqual([12, 7]);
    expect((await w.custody(part)).map(({ holder, from, to }) => [holder, from, to])).toEqual([
      [giver.keeperId, SENT, RECEIVED],
      [receiver.keeperId, RECEIVED, null],
    ]);
    const changes = await w.client.lotChange.findMany({ where: { lotId: part }, orderBy: { id: 'asc' } });
    expect(changes.map(({ cause, delta }) => [cause, delta])).toEqual([
      ['split_in', 8],
      ['died', -1],
    ]);
  });

  it('refused and missing animals are split back into records that stay with the giver', async () => {
    const lot = await w.animal(giver, { lotOf: 12 });
    const transferId = await sentTransfer(lot);
    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(lot, { well: 6, ill: 1, missing: 2, refused: 3 })],
    });
    expect(await w.client.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 7, fate: 'alive' });
    const received = (await w.ledger(transferId)).at(-1)?.body['items'] as {
      splitBack: { animalId: string; count: number; missing: boolean }[];
    }[];
    const back = received[0]?.splitBack ?? [];
    expect(back.map(({ count, missing }) => ({ count, missing }))).toEqual([
      { count: 2, missing: true },
      { count: 3, missing: false },
    ]);
    for (const { animalId, count, missing } of back) {
      expect(await w.client.animal.findUnique({ where: { id: animalId } })).toMatchObject({
        count,
        fate: missing ? 'missing' : 'alive',
      });
      const splitOff = { holder: giver.keeperId, from: RECEIVED, arrivedBy: 'split' };
      expect(await w.custody(animalId)).toMatchObject(
        missing
          ? [
              { ...splitOff, to: RECEIVED, leftBy: 'missing' },
              { holder: null, from: RECEIVED, to: null, arrivedBy: 'lost' },
            ]
          : [{ ...splitOff, to: null }],
      );
      expect(await level(receiver, animalId)).toBe('none');
    }
  });

  it('all dead: the whole lot moves, and none is left', async () => {
    const lot = await w.animal(giver, { lotOf: 4 });
    const transferId = await sentTransfer(lot);
    await w.receive.execute(receiver.viewer, { transferId, receivedOn: RECEIVED, items: [arrived(lot, { dead: 4 })] });
    expect(await w.client.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 0, fate: 'dead' });
    expect((await w.custody(lot)).at(-1)).toMatchObject({ holder: receiver.keeperId, to: RECEIVED, leftBy: 'died' });
  });
});

describe('who may', () => {
  it('a third keeper finds no transfer: reading or acting, the same answer as for an id that does not exist', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, animal));
    const answers = await Promise.all(
      [transferId, uuid()].flatMap((id) => [
        w.store.getVisible(stranger.viewer, id).catch((error: Error) => error.message),
        w.accept.execute(stranger.viewer, { transferId: id }).catch((error: Error) => error.message),
        w.withdraw.execute(stranger.viewer, { transferId: id }).catch((error: Error) => error.message),
      ]),
    );
    expect(new Set(answers)).toEqual(new Set(['No transfer with this id is visible to you.']));
  });

  it('each side its own steps; a version read before another step is stale', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, animal));
    await expect(w.accept.execute(giver.viewer, { transferId })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await expect(w.withdraw.execute(receiver.viewer, { transferId })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await w.accept.execute(receiver.viewer, { transferId });
    await expect(w.withdraw.execute(giver.viewer, { transferId, expectedVersion: 1 })).rejects.toMatchObject({
      code: 'STALE_VERSION',
    });
  });

  it('an offer is no oracle: unknown receivers, foreign givers and invisible animals are all not found', async () => {
    const [mine, theirs] = [await w.animal(giver), await w.animal(stranger)];
    const refusal = (input: Parameters<typeof w.offer.execute>[1]) =>
      w.offer
        .execute(giver.viewer, input)
        .catch((error: { code: string; message: string }) => [error.code, error.message]);
    expect(await refusal({ ...gift(giver, receiver, mine), toKeeperId: uuid() })).toEqual([
      'NOT_FOUND',
      'No keeper with this id is visible to you.',
    ]);
    expect(await refusal(gift(stranger, receiver, theirs))).toEqual([
      'NOT_FOUND',
      'No keeper with this id is visible to you.',
    ]);
    const invisible = ['NOT_FOUND', 'No animal with this id is visible to you.'];
    expect(await refusal(gift(giver, receiver, theirs))).toEqual(invisible);
    expect(await refusal(gift(giver, receiver, uuid()))).toEqual(invisible);
  });

  it('message and price are in the ledger as salted hashes only', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, {
      ...gift(giver, receiver, animal),
      kind: 'sale',
      price: { minor: 12_550, currency: 'EUR' },
      message: 'Feed it crickets.',
    });
    const [entry] = await w.ledger(transferId);
    expect(JSON.stringify(entry)).not.toMatch(/12550 EUR|crickets/);
    expect(entry?.body['personal']).toEqual({
      message: expect.stringMatching(/^[0-9a-f]{64}$/),
      price: expect.stringMatching(/^[0-9a-f]{64}$/),
    });
  });

  it('a receipt that is refused changes nothing, not even for items that were in order', async () => {
    const [one, two] = [await w.animal(giver), await w.animal(giver)];
    const transferId = await sentTransfer(one, two);
    const incomplete = { transferId, receivedOn: TODAY, items: [arrived(one, { well: 1 })] };
    await expect(w.receive.execute(receiver.viewer, incomplete)).rejects.toMatchObject({
      rule: 'TRANSFER_ARRIVALS_INCOMPLETE',
    });
    expect(await w.custody(one)).toMatchObject([{ holder: giver.keeperId, to: null }]);
    expect((await w.store.getVisible(giver.viewer, transferId)).transfer.state).toBe('sent');
  });
});
