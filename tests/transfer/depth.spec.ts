import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { findAccess } from '../../libs/access/index.js';
import { day } from '../../libs/kernel/index.js';
import { arrived, gift, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let giver: Party;
let receiver: Party;
let third: Party;
beforeAll(async () => {
  w = await transferWorld();
  [giver, receiver, third] = [await w.party('Giver'), await w.party('Receiver'), await w.party('Third')];
});
afterAll(() => w.close());

async function accepted(animals: string[], more: object = {}, from = giver, to = receiver): Promise<string> {
  const { transferId } = await w.offer.execute(from.viewer, { ...gift(from, to, ...animals), ...more });
  await w.accept.execute(to.viewer, { transferId });
  return transferId;
}

async function sent(...animals: string[]): Promise<string> {
  const transferId = await accepted(animals);
  await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
  return transferId;
}

const read = async (id: string) => (await w.store.getVisible(giver.viewer, id)).transfer;
const reads = async (who: Party, animal: string) => (await findAccess(w.client, who.viewer, [animal])).has(animal);
const part = (transferId: string, animal: string) => ({
  transferId,
  receivedOn: TODAY,
  items: [arrived(animal, { well: 1 })],
  moreToCome: true,
});

describe('an offer with a day to answer by', () => {
  it('is over the day after: the animal is free, the receiver reads it no more, both are told once', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, { ...gift(giver, receiver, animal), answerBy: TODAY });
    await w.expire(TODAY);
    expect((await read(transferId)).state).toBe('offered');
    expect(await reads(receiver, animal)).toBe(true);
    await w.expire(day('2026-06-11'));
    await w.expire(day('2026-06-12'));
    expect(await read(transferId)).toMatchObject({ state: 'expired', version: 2 });
    expect(await reads(receiver, animal)).toBe(false);
    await expect(w.accept.execute(receiver.viewer, { transferId })).rejects.toMatchObject({
      rule: 'TRANSFER_NOT_OFFERED',
    });
    expect(await w.client.notice.count({ where: { kind: 'offer_expired' } })).toBe(2);
    await w.offer.execute(giver.viewer, gift(giver, third, animal));
  });
});

describe('a transfer that came to nothing', () => {
  it('cancelled: by whom and why stand in it, the reason not in the ledger’s body', async () => {
    const animal = await w.animal(giver);
    const transferId = await accepted([animal]);
    await w.cancel.execute(receiver.viewer, { transferId, reason: 'No room left.' });
    expect(await read(transferId)).toMatchObject({
      state: 'cancelled',
      cancelledBy: 'receiver',
      endedReason: 'No room left.',
    });
    expect(JSON.stringify((await w.ledger(transferId)).at(-1)?.body)).not.toContain('No room');
    expect(await reads(receiver, animal)).toBe(false);
    await w.offer.execute(giver.viewer, gift(giver, third, animal));
  });

  it('failed: once both say so everything is as it was', async () => {
    const animal = await w.animal(giver);
    const before = await w.custody(animal);
    const transferId = await sent(animal);
    await w.fail.execute(giver.viewer, { transferId, failure: 'came_back' });
    expect(await read(transferId)).toMatchObject({ state: 'sent', failure: { declaredBy: 'giver' } });
    await w.fail.execute(receiver.viewer, { transferId, failure: 'came_back' });
    expect((await read(transferId)).state).toBe('failed');
    expect(await w.custody(animal)).toEqual(before);
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    expect(await reads(receiver, animal)).toBe(false);
    await w.offer.execute(giver.viewer, gift(giver, third, animal));
  });
});

describe('receipts of parts', () => {
  it('each item moves when it arrives and is free to go on; the last one closes the transfer', async () => {
    const [one, two, three] = [await w.animal(giver), await w.animal(giver), await w.animal(giver)];
    const transferId = await sent(one, two, three);
    await w.receive.execute(receiver.viewer, part(transferId, one));
    expect((await read(transferId)).state).toBe('sent');
    expect((await w.custody(one)).at(-1)).toMatchObject({ holder: receiver.keeperId });
    expect((await w.custody(two)).at(-1)).toMatchObject({ holder: giver.keeperId, to: null });
    await expect(w.receive.execute(receiver.viewer, part(transferId, one))).rejects.toMatchObject({
      rule: 'TRANSFER_ARRIVALS_INCOMPLETE',
    });
    await expect(w.fail.execute(giver.viewer, { transferId, failure: 'never_arrived' })).rejects.toMatchObject({
      rule: 'TRANSFER_PARTLY_RECEIVED',
    });
    await w.offer.execute(receiver.viewer, gift(receiver, third, one));
    await w.leaveOut.execute(giver.viewer, { transferId, animalIds: [two] });
    await w.offer.execute(giver.viewer, gift(giver, third, two));
    await w.receive.execute(receiver.viewer, {
      ...part(transferId, three),
      items: [{ ...arrived(three, { ill: 1 }), note: 'A wet foot.' }],
      moreToCome: false,
    });
    const closed = await read(transferId);
    expect(closed).toMatchObject({ state: 'received', receivedOn: TODAY });
    expect(closed.items.map(({ notSent, note }) => [notSent, note])).toEqual([
      [false, null],
      [true, null],
      [false, 'A wet foot.'],
    ]);
    expect(await w.client.quarantineEntry.count({ where: { animalId: { in: [one, three] }, leftOn: null } })).toBe(2);
  });

  it('what is not told is not received, unless more is to come', async () => {
    const [one, two] = [await w.animal(giver), await w.animal(giver)];
    const transferId = await sent(one, two);
    await expect(
      w.receive.execute(receiver.viewer, { ...part(transferId, one), moreToCome: false }),
    ).rejects.toMatchObject({ rule: 'TRANSFER_ARRIVALS_INCOMPLETE' });
    await expect(w.leaveOut.execute(giver.viewer, { transferId, animalIds: [one, two] })).rejects.toMatchObject({
      rule: 'TRANSFER_NOTHING_SENT',
    });
    await expect(w.leaveOut.execute(receiver.viewer, { transferId, animalIds: [one] })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    });
  });
});

describe('before sending', () => {
  it('an animal in quarantine is held back; where both are in a club that only warns, a reason lets it go', async () => {
    const [animal, earlier] = [await w.animal(giver), await w.animal(giver)];
    for (const one of [animal, earlier]) {
      const transferId = await sent(one);
      await w.receive.execute(receiver.viewer, { ...part(transferId, one), moreToCome: false });
    }
    const onward = await accepted([animal], {}, receiver, third);
    const send = (reason?: string) =>
      w.send.execute(receiver.viewer, {
        transferId: onward,
        sentOn: TODAY,
        ...(reason === undefined ? {} : { reason }),
      });
    await expect(send('because')).rejects.toMatchObject({
      rule: 'TRANSFER_CHECK_BLOCKS',
      blockers: [{ kind: 'animal', id: animal }],
    });
    const clubId = uuid();
    await w.client.club.create({ data: { id: clubId, slug: clubId, name: 'Club', createdAt: new Date() } });
    for (const { keeperId } of [receiver, third])
      await w.client.clubMember.create({ data: { clubId, keeperId, joinedOn: new Date('2026-01-01') } });
    await w.client.clubPolicy.create({ data: { clubId, check: 'quarantine', effect: 'warn' } });
    expect(await w.store.checkSending(receiver.viewer, onward, TODAY)).toMatchObject([
      { check: 'quarantine', effect: 'warn', subjectId: animal },
    ]);
    await expect(w.store.checkSending(third.viewer, onward, TODAY)).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await expect(send()).rejects.toMatchObject({ rule: 'TRANSFER_REASON_NEEDED' });
    await send('It goes to a veterinarian’s ward.');
    expect((await w.ledger(onward)).at(-1)?.body).toMatchObject({
      warnings: [{ check: 'quarantine', subjectId: animal }],
    });
  });

  it('a newcomer to the group holds back those whose days it starts anew, and no others', async () => {
    const [frog, newcomer] = [await w.animal(giver), await w.animal(giver)];
    const frogs = await w.client.taxon.findUniqueOrThrow({ where: { id: w.taxonId } });
    const taxonId = uuid();
    const gecko = { className: 'Reptilia', orderName: 'Squamata', scientificName: 'Lygodactylus inventus' };
    await w.client.taxon.create({ data: { ...frogs, profile: {}, ...gecko, id: taxonId } });
    const groupId = uuid();
    const rule = { name: 'Shed', days: 30, daysSource: 'test', restartScope: 'order' as const };
    await w.client.quarantineGroup.create({
      data: { id: groupId, keeperId: giver.keeperId, openedAt: new Date(), ...rule },
    });
    for (const [animalId, enteredOn] of [
      [frog, '2026-04-01'],
      [newcomer, '2026-06-09'],
    ] as const)
      await w.client.quarantineEntry.create({
        data: {
          ...{ id: uuid(), groupId, animalId, enteredOn: new Date(enteredOn) },
          ...{ recordedAt: new Date(), recordedBy: giver.viewer.accountId },
        },
      });
    const transferId = await accepted([frog]);
    const checks = async () => (await w.store.checkSending(giver.viewer, transferId, TODAY)).map(({ check }) => check);
    expect(await checks()).toEqual(['quarantine']);
    await w.client.animal.update({ where: { id: newcomer }, data: { taxonId } });
    expect(await checks()).toEqual([]);
    await w.client.quarantineGroup.update({ where: { id: groupId }, data: { restartScope: 'any' } });
    expect(await checks()).toEqual(['quarantine']);
  });

  it('a condition holds it back until the receiver, and only the receiver, says that it is met or waived', async () => {
    const conditions = [{ kind: 'other' as const, text: 'The terrarium is ready.' }];
    const transferId = await accepted([await w.animal(giver)], { conditions });
    const conditionId = (await read(transferId)).conditions[0]?.id ?? '';
    const send = () =>
      w.send.execute(giver.viewer, { transferId, sentOn: TODAY, way: 'shipment', carrier: 'Night van' });
    await expect(send()).rejects.toMatchObject({ rule: 'TRANSFER_CONDITION_OPEN', blockers: [{ id: conditionId }] });
    const settle = (who: Party) =>
      w.settle.execute(who.viewer, { transferId, conditionId, settledAs: 'waived' as const });
    await expect(settle(giver)).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await expect(settle(third)).rejects.toMatchObject({ code: 'NOT_FOUND' });
    await settle(receiver);
    await expect(settle(receiver)).rejects.toMatchObject({ rule: 'TRANSFER_CONDITION_SETTLED' });
    await send();
    expect(await read(transferId)).toMatchObject({ state: 'sent', way: 'shipment', carrier: 'Night van' });
  });

  it('a listed species without a document warns, with one that covers it does not', async () => {
    const profile = { appendix: { value: 'II', source: 'test' }, handOverMinimum: { days: 9000, source: 'test' } };
    const { profile: was } = await w.client.taxon.findUniqueOrThrow({ where: { id: w.taxonId } });
    await w.client.taxon.update({ where: { id: w.taxonId }, data: { profile } });
    const transferId = await accepted([await w.animal(giver)]);
    const checks = async () => (await w.store.checkSending(giver.viewer, transferId, TODAY)).map(({ check }) => check);
    expect(await checks()).toEqual(['document']);
    const [id, cover] = [uuid(), uuid()];
    await w.client.holdingDocument.create({
      data: {
        id,
        originalId: id,
        keeperId: giver.keeperId,
        kind: 'certificate',
        number: '1',
        authority: 'An authority',
        jurisdiction: 'DE',
        validUntil: new Date('2026-06-10'),
        recordedAt: new Date(),
        recordedBy: giver.viewer.accountId,
      },
    });
    await w.client.documentCover.create({ data: { id: cover, documentId: id, taxonId: w.taxonId } });
    expect(await checks()).toEqual([]);
    expect(await w.store.checkSending(giver.viewer, transferId, day('2026-06-11'))).toHaveLength(1);
    await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
    await w.client.taxon.update({ where: { id: w.taxonId }, data: { profile: was ?? {} } });
  });
});
