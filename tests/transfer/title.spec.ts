import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import '../../libs/transfer/index.js';
import { JoinLots } from '../../libs/custody/app/join-lots.js';
import { MergeRecords } from '../../libs/custody/app/merge-records.js';
import { SplitLot } from '../../libs/custody/app/split-lot.js';
import { day } from '../../libs/kernel/index.js';
import { LOAN, onPayment, RECEIVED, SENT, titleWorld } from '../support/title-world.js';
import {
  arrived,
  gift,
  type Party,
  REGISTERED,
  TODAY,
  transferWorld,
  type TransferWorld,
} from '../support/transfer-world.js';

let w: TransferWorld;
let t: ReturnType<typeof titleWorld>;
let giver: Party;
let receiver: Party;
let third: Party;
beforeAll(async () => {
  w = await transferWorld();
  t = titleWorld(w);
  [giver, receiver, third] = [await w.party('Giver'), await w.party('Receiver'), await w.party('Third')];
});
afterAll(() => w.close());

const holderNow = async (animalId: string) => (await w.custody(animalId)).find(({ to }) => to === null)?.holder;
const refused = (rule: string) => ({ rule });
const awaited = async (transferId: string) =>
  (await w.client.transferItem.findFirstOrThrow({ where: { transferId } })).titleDue;

describe('property kept until paid', () => {
  it('the receiver has custody, the giver owns, until the day the confirmed sum reaches the price', async () => {
    const animal = await w.animal(giver);
    const transferId = await t.handOver(animal, giver, receiver, onPayment(10_000, 4_000, 6_000));
    expect(await holderNow(animal)).toBe(receiver.keeperId);
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    const first = await t.pay(transferId, receiver, 4_000);
    const second = await t.pay(transferId, receiver, 6_000);
    // Declared alone moves nothing, and neither does a part.
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    await t.confirm.execute(giver.viewer, { paymentId: first });
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    await t.confirm.execute(giver.viewer, { paymentId: second });
    expect(await t.ownership(animal)).toEqual([
      { from: REGISTERED, to: TODAY, state: 'agreed', shares: [[giver.keeperId, 1]] },
      { from: TODAY, to: null, state: 'agreed', shares: [[receiver.keeperId, 1]] },
    ]);
    const { transfer } = await w.store.getVisible(giver.viewer, transferId);
    expect(transfer).toMatchObject({ paidUpOn: TODAY, items: [{ titleDue: false }] });
    const last = (await w.ledger(transferId)).at(-1);
    expect(last).toMatchObject({ action: 'transfer.payment-confirmed', body: { paidUp: true, titleMoved: [animal] } });
    // As a number or the start of a text: an id may hold these digits.
    expect(JSON.stringify(await w.ledger(transferId))).not.toMatch(/[:"]6000\b/);
  });

  it('paid before it arrives, property goes with custody on the day of receipt', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, { ...gift(giver, receiver, animal), ...onPayment(500) });
    await w.accept.execute(receiver.viewer, { transferId });
    await t.confirm.execute(giver.viewer, { paymentId: await t.pay(transferId, receiver, 500) });
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    await w.send.execute(giver.viewer, { transferId, sentOn: SENT });
    await w.receive.execute(receiver.viewer, {
      transferId,
      receivedOn: RECEIVED,
      items: [arrived(animal, { well: 1 })],
    });
    expect((await t.ownership(animal)).at(-1)).toMatchObject({ from: RECEIVED, shares: [[receiver.keeperId, 1]] });
  });

  it('a payment that has not arrived does not count until it is confirmed after all; overpaying is refused', async () => {
    const animal = await w.animal(giver);
    const transferId = await t.handOver(animal, giver, receiver, onPayment(1_000));
    await expect(t.pay(transferId, receiver, 1_001)).rejects.toMatchObject(refused('PAYMENT_TOO_MUCH'));
    const payment = await t.pay(transferId, receiver, 1_000);
    await t.question.execute(giver.viewer, { paymentId: payment, note: 'Nothing on the account yet.' });
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    await t.confirm.execute(giver.viewer, { paymentId: payment });
    expect(await w.owners(animal)).toEqual([[receiver.keeperId, 1]]);
    await expect(t.pay(transferId, receiver, 1)).rejects.toMatchObject(refused('PAYMENT_NOT_AWAITED'));
  });

  it('each side says its own, and only an owner of the keeper; a stranger finds nothing', async () => {
    const animal = await w.animal(giver);
    const transferId = await t.handOver(animal, giver, receiver, onPayment(1_000));
    const payment = await t.pay(transferId, receiver, 1_000);
    const helper = { ...giver.viewer, keepers: [{ keeperId: giver.keeperId, role: 'helper' as const }] };
    for (const viewer of [receiver.viewer, helper])
      await expect(t.confirm.execute(viewer, { paymentId: payment })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    const own = { transferId, minor: 1, paidOn: RECEIVED };
    await expect(t.declare.execute(giver.viewer, own)).rejects.toMatchObject({ code: 'FORBIDDEN' });
    for (const paymentId of [payment, transferId])
      await expect(t.confirm.execute(third.viewer, { paymentId })).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });

  it('what goes home unpaid stays the giver’s, and is paid for no more', async () => {
    const animal = await w.animal(giver);
    const transferId = await t.handOver(animal, giver, receiver, onPayment(1_000));
    const half = await t.pay(transferId, receiver, 500);
    await t.confirm.execute(giver.viewer, { paymentId: half });
    const onward = { ...gift(receiver, third, animal) };
    await expect(w.offer.execute(receiver.viewer, onward)).rejects.toMatchObject(refused('TRANSFER_NOT_OWNED'));
    const back = { sent: day('2026-06-05'), received: day('2026-06-06') };
    await t.handOver(animal, receiver, giver, { kind: 'loan_return' }, back);
    expect(await holderNow(animal)).toBe(giver.keeperId);
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    expect(await awaited(transferId)).toBe(false);
    await expect(t.pay(transferId, receiver, 500)).rejects.toMatchObject(refused('PAYMENT_NOT_AWAITED'));
  });

  it('of a lot, what the receiver split off since goes along when it is paid', async () => {
    const lot = await w.animal(giver, { lotOf: 10 });
    const transferId = await t.handOver(lot, giver, receiver, onPayment(900), { count: 10 });
    const split = { lotId: lot, count: 4, on: day('2026-06-05') };
    const { newLotId: part } = await new SplitLot(w.uow).execute(receiver.viewer, split);
    expect(await w.owners(part)).toEqual([[giver.keeperId, 1]]);
    await t.confirm.execute(giver.viewer, { paymentId: await t.pay(transferId, receiver, 900) });
    expect(await w.owners(lot)).toEqual([[receiver.keeperId, 1]]);
    expect(await w.owners(part)).toEqual([[receiver.keeperId, 1]]);
  });

  it('nothing that waits for another payment, or for none, is joined with it; what was split off is, and goes along', async () => {
    const split = new SplitLot(w.uow);
    const join = new JoinLots(w.uow);
    const [bought, more, lent] = [
      await w.animal(giver, { lotOf: 10 }),
      await w.animal(giver, { lotOf: 5 }),
      await w.animal(giver, { lotOf: 3 }),
    ];
    const transferId = await t.handOver(bought, giver, receiver, onPayment(900), { count: 10 });
    await t.handOver(more, giver, receiver, onPayment(100), { count: 5 });
    await t.handOver(lent, giver, receiver, LOAN, { count: 3 });
    const on = day('2026-06-05');
    const { newLotId: part } = await split.execute(receiver.viewer, { lotId: bought, count: 4, on });
    const { newLotId: partOfPart } = await split.execute(receiver.viewer, { lotId: part, count: 1, on });
    for (const [fromLotId, intoLotId] of [
      [bought, lent],
      [lent, bought],
      [partOfPart, lent],
      [more, part],
    ] as const)
      await expect(join.execute(receiver.viewer, { fromLotId, intoLotId, on })).rejects.toMatchObject(
        refused('LOT_JOIN_UNPAID'),
      );
    await join.execute(receiver.viewer, { fromLotId: partOfPart, intoLotId: bought, on });
    await t.confirm.execute(giver.viewer, { paymentId: await t.pay(transferId, receiver, 900) });
    for (const id of [bought, part]) expect(await w.owners(id)).toEqual([[receiver.keeperId, 1]]);
    for (const id of [more, lent]) expect(await w.owners(id)).toEqual([[giver.keeperId, 1]]);
    // Paid for, it is no longer of the lender's: they are the property of two.
    await expect(
      join.execute(receiver.viewer, { fromLotId: bought, intoLotId: lent, on: TODAY }),
    ).rejects.toMatchObject(refused('LOT_JOIN_OTHER_OWNERS'));
  });

  it('what went back to the giver waits for nothing, and is joined with what the giver has', async () => {
    const [bought, kept] = [await w.animal(giver, { lotOf: 6 }), await w.animal(giver, { lotOf: 3 })];
    await t.handOver(bought, giver, receiver, onPayment(900), { count: 6 });
    const { newLotId: part } = await new SplitLot(w.uow).execute(receiver.viewer, {
      lotId: bought,
      count: 2,
      on: day('2026-06-05'),
    });
    const back = { sent: day('2026-06-06'), received: day('2026-06-07'), count: 2 };
    await t.handOver(part, receiver, giver, { kind: 'loan_return' }, back);
    await new JoinLots(w.uow).execute(giver.viewer, { fromLotId: part, intoLotId: kept, on: TODAY });
    expect((await w.client.animal.findUniqueOrThrow({ where: { id: kept } })).count).toBe(5);
  });

  it('a record of an animal that waits for payment is not merged with one that does not', async () => {
    const [bought, lent] = [await w.animal(giver), await w.animal(giver)];
    await t.handOver(bought, giver, receiver, onPayment(900));
    await t.handOver(lent, giver, receiver, LOAN);
    const merge = { keepId: lent, mergeId: bought, reason: 'One animal.' };
    await expect(new MergeRecords(w.uow).execute(receiver.viewer, merge)).rejects.toMatchObject(
      refused('MERGE_UNPAID'),
    );
  });
});

describe('loans and returns', () => {
  it('custody moves and property stays; the borrower returns it to an owner and gives it to nobody else', async () => {
    const animal = await w.animal(giver);
    await t.handOver(animal, giver, receiver, LOAN);
    expect(await holderNow(animal)).toBe(receiver.keeperId);
    expect(await t.ownership(animal)).toEqual([
      { from: REGISTERED, to: null, state: 'agreed', shares: [[giver.keeperId, 1]] },
    ]);
    await expect(w.offer.execute(receiver.viewer, gift(receiver, third, animal))).rejects.toMatchObject(
      refused('TRANSFER_NOT_OWNED'),
    );
    const elsewhere = { ...gift(receiver, third, animal), kind: 'loan_return' as const };
    await expect(w.offer.execute(receiver.viewer, elsewhere)).rejects.toMatchObject(refused('TRANSFER_NOT_TO_OWNER'));
    await expect(w.offer.execute(giver.viewer, gift(giver, third, animal))).rejects.toMatchObject(
      refused('TRANSFER_NOT_HELD'),
    );
    const back = { sent: day('2026-06-05'), received: day('2026-06-06') };
    await t.handOver(animal, receiver, giver, { kind: 'loan_return' }, back);
    expect(await holderNow(animal)).toBe(giver.keeperId);
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
  });

  it('a return of what was never lent is the owner’s own animal: it goes to no stranger', async () => {
    const animal = await w.animal(giver);
    const offer = { ...gift(giver, receiver, animal), kind: 'loan_return' as const };
    await expect(w.offer.execute(giver.viewer, offer)).rejects.toMatchObject(refused('TRANSFER_NOT_TO_OWNER'));
  });
});

describe('shares of an animal', () => {
  const half = (animalId: string) => ({ items: [{ animalId, share: { parts: 1, of: 2 } }] });

  it('the giver keeps a half; what does not add up is refused and nothing is written', async () => {
    const animal = await w.animal(giver);
    await t.handOver(animal, giver, receiver, half(animal));
    expect(await w.owners(animal)).toEqual([
      [giver.keeperId, 1],
      [receiver.keeperId, 1],
    ]);
    const before = await w.client.transfer.count();
    const most = { ...gift(receiver, third, animal), items: [{ animalId: animal, share: { parts: 2, of: 3 } }] };
    await expect(w.offer.execute(receiver.viewer, most)).rejects.toMatchObject(refused('SHARE_TOO_LARGE'));
    expect(await w.client.transfer.count()).toBe(before);
    const back = { sent: day('2026-06-05'), received: day('2026-06-06') };
    await t.handOver(animal, receiver, third, half(animal), back);
    expect(await w.owners(animal)).toEqual([
      [giver.keeperId, 1],
      [third.keeperId, 1],
    ]);
  });

  it('a half can wait to be paid for', async () => {
    const animal = await w.animal(giver);
    const transferId = await t.handOver(animal, giver, receiver, { ...onPayment(700), ...half(animal) });
    expect(await w.owners(animal)).toEqual([[giver.keeperId, 1]]);
    await t.confirm.execute(giver.viewer, { paymentId: await t.pay(transferId, receiver, 700) });
    expect(await w.owners(animal)).toEqual([
      [giver.keeperId, 1],
      [receiver.keeperId, 1],
    ]);
  });
});
