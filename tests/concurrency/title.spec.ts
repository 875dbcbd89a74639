import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { day } from '../../libs/kernel/index.js';
import { onPayment, RECEIVED, titleWorld } from '../support/title-world.js';
import {
  arrived,
  gift,
  holdRow,
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
let other: Party;
beforeAll(async () => {
  w = await transferWorld();
  t = titleWorld(w);
  [giver, receiver, other] = [await w.party('Giver'), await w.party('Receiver'), await w.party('Other')];
});
afterAll(() => w.close());

/** Outcome of each: 'done', or the rule or code that refused. */
async function outcomes(...attempts: Promise<unknown>[]): Promise<string[]> {
  const settled = await Promise.allSettled(attempts);
  return settled.map((one) => {
    if (one.status === 'fulfilled') return 'done';
    const { rule, code } = one.reason as { rule?: string; code?: string };
    return rule ?? code ?? String(one.reason);
  });
}

/** A received sale of one animal that waits for a price of 1,000. */
async function sold(): Promise<{ animal: string; transferId: string }> {
  const animal = await w.animal(giver);
  return { animal, transferId: await t.handOver(animal, giver, receiver, onPayment(1_000)) };
}

describe('two writers about one price, held at one barrier and let go together', () => {
  it('two confirmations that reach it together: property moves once, with the later one', async () => {
    const { animal, transferId } = await sold();
    const [first, second] = [await t.pay(transferId, receiver, 400), await t.pay(transferId, receiver, 600)];
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      t.confirm.execute(giver.viewer, { paymentId: first }),
      t.confirm.execute({ ...giver.viewer, requestId: uuid() }, { paymentId: second }),
    );
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    expect(await w.owners(animal)).toEqual([[receiver.keeperId, 1]]);
    expect(await t.ownership(animal)).toHaveLength(2);
    const confirmed = (await w.ledger(transferId)).filter(({ action }) => action === 'transfer.payment-confirmed');
    expect(confirmed.map(({ body }) => body['paidUp'])).toEqual([false, true]);
  });

  it('one payment confirmed twice: one happens', async () => {
    const { animal, transferId } = await sold();
    const paymentId = await t.pay(transferId, receiver, 1_000);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      t.confirm.execute(giver.viewer, { paymentId }),
      t.confirm.execute({ ...giver.viewer, requestId: uuid() }, { paymentId }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['PAYMENT_ANSWERED', 'done']);
    expect(await t.ownership(animal)).toHaveLength(2);
  });

  it('confirmed and questioned at once: a confirmation stands, whichever comes first', async () => {
    const { animal, transferId } = await sold();
    const paymentId = await t.pay(transferId, receiver, 1_000);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      t.confirm.execute(giver.viewer, { paymentId }),
      t.question.execute({ ...giver.viewer, requestId: uuid() }, { paymentId }),
    );
    await barrier.releaseWhenWaiting(2);
    const [confirmed, questioned] = await both;
    expect(confirmed).toBe('done');
    expect(['done', 'PAYMENT_ANSWERED']).toContain(questioned);
    expect(await w.owners(animal)).toEqual([[receiver.keeperId, 1]]);
  });

  it('two declarations that together are too much: one happens', async () => {
    const { transferId } = await sold();
    const payment = { transferId, minor: 600, paidOn: RECEIVED };
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      t.declare.execute(receiver.viewer, payment),
      t.declare.execute({ ...receiver.viewer, requestId: uuid() }, payment),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['PAYMENT_TOO_MUCH', 'done']);
  });

  it('one declaration sent twice with the same Idempotency-Key: one payment', async () => {
    const { transferId } = await sold();
    const viewer = { ...receiver.viewer, idempotencyKey: uuid() };
    const payment = { transferId, minor: 400, paidOn: RECEIVED };
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(t.declare.execute(viewer, payment), t.declare.execute(viewer, payment));
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    expect(await w.client.transferPayment.count({ where: { transferId } })).toBe(1);
  });

  it('the last confirmation against the receipt of its return: it moves to the buyer or stays, and both agree on which', async () => {
    const { animal, transferId } = await sold();
    const paymentId = await t.pay(transferId, receiver, 1_000);
    const home = await w.offer.execute(receiver.viewer, { ...gift(receiver, giver, animal), kind: 'loan_return' });
    await t.underWay(home.transferId, receiver, giver, day('2026-06-05'));
    const receipt = { transferId: home.transferId, receivedOn: TODAY, items: [arrived(animal, { well: 1 })] };
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(t.confirm.execute(giver.viewer, { paymentId }), w.receive.execute(giver.viewer, receipt));
    await barrier.releaseWhenWaiting(2);
    const [confirmed, received] = await both;
    expect(received).toBe('done');
    expect(['done', 'PAYMENT_NOT_AWAITED']).toContain(confirmed);
    const owner = confirmed === 'done' ? receiver.keeperId : giver.keeperId;
    expect(await w.owners(animal)).toEqual([[owner, 1]]);
    expect(await w.client.transferItem.count({ where: { transferId, titleDue: true } })).toBe(0);
  });
});

describe('claims at one barrier', () => {
  const claim = (by: Party, animalId: string) =>
    t.claim.execute(by.viewer, {
      keeperId: by.keeperId,
      animalId,
      share: { parts: 1, of: 2 },
      since: REGISTERED,
      statement: 'A half is ours.',
    });

  async function passedOn(): Promise<string> {
    const animal = await w.animal(giver);
    await t.handOver(animal, giver, receiver);
    return animal;
  }

  it('a claim against sending: it is sent, or it is claimed, never both', async () => {
    const animal = await passedOn();
    const { transferId } = await w.offer.execute(receiver.viewer, gift(receiver, other, animal));
    await w.accept.execute(other.viewer, { transferId });
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(claim(giver, animal), w.send.execute(receiver.viewer, { transferId, sentOn: TODAY }));
    await barrier.releaseWhenWaiting(2);
    expect([
      ['done', 'TRANSFER_CHECK_BLOCKS'],
      ['CLAIM_NOT_NOW', 'done'],
    ]).toContainEqual(await both);
  });

  it('two claims on one animal: one is open', async () => {
    const animal = await passedOn();
    const back = { sent: day('2026-06-05'), received: day('2026-06-06') };
    await t.handOver(animal, receiver, other, {}, back);
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(claim(giver, animal), claim(receiver, animal));
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['CLAIM_NOT_NOW', 'done']);
    expect(await w.client.ownershipClaim.count({ where: { animalId: animal } })).toBe(1);
  });

  it('agreeing against a new proposal: what was agreed to is what was read', async () => {
    const animal = await passedOn();
    const { claimId } = await claim(giver, animal);
    const shares = (a: number, b: number) => [
      { party: 1, parts: a },
      { party: 2, parts: b },
    ];
    await t.propose.execute(giver.viewer, { claimId, shares: shares(1, 3) });
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(
      t.agree.execute(receiver.viewer, { claimId, proposal: 1 }),
      t.propose.execute(giver.viewer, { claimId, shares: shares(3, 1) }),
    );
    await barrier.releaseWhenWaiting(2);
    const [agreed, proposed] = await both;
    expect([
      ['done', 'CLAIM_ENDED'],
      ['CLAIM_PROPOSAL_CHANGED', 'done'],
    ]).toContainEqual([agreed, proposed]);
    const expected =
      agreed === 'done'
        ? [
            [giver.keeperId, 1],
            [receiver.keeperId, 3],
          ]
        : [[receiver.keeperId, 1]];
    expect(await w.owners(animal)).toEqual(expected);
  });
});
