import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { setTimeout as sleep } from 'node:timers/promises';
import { v7 as uuid } from 'uuid';
import { RecordDeath } from '../../libs/custody/app/record-death.js';
import { SplitLot } from '../../libs/custody/app/split-lot.js';
import { day } from '../../libs/kernel/index.js';
import {
  arrived,
  gift,
  holdRow,
  type Party,
  TODAY,
  transferWorld,
  type TransferWorld,
} from '../support/transfer-world.js';

let w: TransferWorld;
let giver: Party;
let receiver: Party;
let other: Party;
beforeAll(async () => {
  w = await transferWorld();
  [giver, receiver, other] = [await w.party('Giver'), await w.party('Receiver'), await w.party('Other')];
});
afterAll(() => w.close());

async function offered(animal: string): Promise<string> {
  return (await w.offer.execute(giver.viewer, gift(giver, receiver, animal))).transferId;
}

/** Outcome of each: 'done', or the rule or code that refused. */
async function outcomes(...attempts: Promise<unknown>[]): Promise<string[]> {
  const settled = await Promise.allSettled(attempts);
  return settled.map((one) => {
    if (one.status === 'fulfilled') return 'done';
    const { rule, code } = one.reason as { rule?: string; code?: string };
    return rule ?? code ?? String(one.reason);
  });
}

describe('two writers at once, held at one barrier and let go together', () => {
  it('accept against withdraw: one of them happens, the other is told why not', async () => {
    const transferId = await offered(await w.animal(giver));
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.accept.execute(receiver.viewer, { transferId }),
      w.withdraw.execute(giver.viewer, { transferId }),
    );
    await barrier.releaseWhenWaiting(2);
    const [accepted, withdrawn] = await both;
    const after = (await w.store.getVisible(giver.viewer, transferId)).transfer;
    if (accepted === 'done')
      expect([withdrawn, after.state, after.version]).toEqual(['TRANSFER_NOT_WITHDRAWABLE', 'accepted', 2]);
    else
      expect([accepted, withdrawn, after.state, after.version]).toEqual([
        'TRANSFER_NOT_OFFERED',
        'done',
        'withdrawn',
        2,
      ]);
  });

  it('accept against withdraw, both on the version they read: exactly one happens', async () => {
    const transferId = await offered(await w.animal(giver));
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.accept.execute(receiver.viewer, { transferId, expectedVersion: 1 }),
      w.withdraw.execute(giver.viewer, { transferId, expectedVersion: 1 }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['STALE_VERSION', 'done']);
  });

  it('two acceptances: one happens, one ledger entry', async () => {
    const transferId = await offered(await w.animal(giver));
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.accept.execute(receiver.viewer, { transferId }),
      w.accept.execute({ ...receiver.viewer, requestId: uuid() }, { transferId }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['TRANSFER_NOT_OFFERED', 'done']);
    expect((await w.ledger(transferId)).map((entry) => entry.action)).toEqual([
      'transfer.offered',
      'transfer.accepted',
    ]);
  });

  it('two offers of one animal to different keepers: one happens', async () => {
    const animal = await w.animal(giver);
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(
      w.offer.execute(giver.viewer, gift(giver, receiver, animal)),
      w.offer.execute(giver.viewer, gift(giver, other, animal)),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['TRANSFER_OPEN', 'done']);
    expect(await w.client.transferItem.count({ where: { animalId: animal, open: true } })).toBe(1);
  });

  it('two offers of two animals in opposite order: no deadlock, one happens', async () => {
    const [one, two] = [await w.animal(giver), await w.animal(giver)];
    const barrier = await holdRow(w.url, 'animal', one);
    const both = outcomes(
      w.offer.execute(giver.viewer, gift(giver, receiver, one, two)),
      w.offer.execute(giver.viewer, gift(giver, other, two, one)),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['TRANSFER_OPEN', 'done']);
  });

  it('two offers of parts of one lot that together are too many: one happens, the lot balances', async () => {
    const lot = await w.animal(giver, { lotOf: 10 });
    const part = (to: Party) => ({ ...gift(giver, to), items: [{ animalId: lot, count: 6 }] });
    const barrier = await holdRow(w.url, 'animal', lot);
    const both = outcomes(w.offer.execute(giver.viewer, part(receiver)), w.offer.execute(giver.viewer, part(other)));
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['TRANSFER_TOO_MANY', 'done']);
    expect(await w.client.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 4 });
  });

  it('one request sent twice with the same Idempotency-Key: both get the one transfer', async () => {
    const animal = await w.animal(giver);
    const viewer = { ...giver.viewer, idempotencyKey: uuid() };
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = Promise.all([
      w.offer.execute(viewer, gift(giver, receiver, animal)),
      w.offer.execute(viewer, gift(giver, receiver, animal)),
    ]);
    // One waits for the animal, the other for the first one's key.
    await barrier.releaseWhenWaiting(2);
    const [first, second] = await both;
    expect(second).toEqual(first);
    expect(await w.client.transferItem.count({ where: { animalId: animal } })).toBe(1);
    expect(await w.ledger(first.transferId)).toHaveLength(1);
  });

  it('one receipt sent twice without a key: custody moves once', async () => {
    const animal = await w.animal(giver);
    const transferId = await offered(animal);
    await w.accept.execute(receiver.viewer, { transferId });
    await w.send.execute(giver.viewer, { transferId, sentOn: day('2026-06-01') });
    const receipt = { transferId, receivedOn: day('2026-06-02'), items: [arrived(animal, { well: 1 })] };
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(w.receive.execute(receiver.viewer, receipt), w.receive.execute(receiver.viewer, receipt));
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['TRANSFER_NOT_SENT', 'done']);
    expect(await w.custody(animal)).toHaveLength(2);
  });

  it('one claim code used by two keepers: one has the animal', async () => {
    const animal = await w.animal(giver);
    const { transferId, claimCode } = await w.offer.execute(giver.viewer, {
      ...gift(giver, receiver, animal),
      toKeeperId: null,
      toOutsideParty: { name: 'Buyer' },
    });
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.takeUp.execute(receiver.viewer, { claimCode: claimCode ?? '', keeperId: receiver.keeperId }),
      w.takeUp.execute(other.viewer, { claimCode: claimCode ?? '', keeperId: other.keeperId }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).sort()).toEqual(['NOT_FOUND', 'done']);
  });
});

describe('the ends of a transfer, at once', () => {
  async function accepted(...animals: string[]): Promise<string> {
    const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, ...animals));
    await w.accept.execute(receiver.viewer, { transferId });
    return transferId;
  }
  const stateOf = async (id: string) => (await w.store.getVisible(giver.viewer, id)).transfer.state;

  it('accept against the job that ends offers: one of them, whoever comes first', async () => {
    // Accepted on the last day, while a run for the day after waits at the same row.
    const animal = await w.animal(giver);
    const offer = { ...gift(giver, receiver, animal), answerBy: TODAY };
    const { transferId } = await w.offer.execute(giver.viewer, offer);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(w.accept.execute(receiver.viewer, { transferId }), w.expire(day('2026-06-11')));
    await barrier.releaseWhenWaiting(2);
    const [answer, job] = await both;
    expect(job).toBe('done');
    expect(await stateOf(transferId)).toBe(answer === 'done' ? 'accepted' : 'expired');
    if (answer !== 'done') expect(answer).toBe('TRANSFER_NOT_OFFERED');
    const open = await w.client.transferItem.count({ where: { transferId, open: true } });
    expect(open).toBe(answer === 'done' ? 1 : 0);
  });

  it('two runs of that job: each offer ends once, with one entry and one notice a side', async () => {
    const offer = { ...gift(giver, receiver, await w.animal(giver)), answerBy: TODAY };
    const { transferId } = await w.offer.execute(giver.viewer, offer);
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(w.expire(day('2026-06-11')), w.expire(day('2026-06-11')));
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    expect((await w.ledger(transferId)).map(({ action }) => action)).toEqual(['transfer.offered', 'transfer.expired']);
    expect(await w.client.notice.count({ where: { dedupeKey: { startsWith: `offer_expired:${transferId}` } } })).toBe(
      2,
    );
  });

  it('cancel against send: one of them', async () => {
    const transferId = await accepted(await w.animal(giver));
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.cancel.execute(receiver.viewer, { transferId, reason: 'No room.' }),
      w.send.execute(giver.viewer, { transferId, sentOn: TODAY }),
    );
    await barrier.releaseWhenWaiting(2);
    const [cancelled, sent] = await both;
    expect([cancelled, sent, await stateOf(transferId)]).toEqual(
      cancelled === 'done'
        ? ['done', 'TRANSFER_NOT_ACCEPTED', 'cancelled']
        : ['TRANSFER_NOT_CANCELLABLE', 'done', 'sent'],
    );
  });

  it('two receipts of parts at once: both count, each animal moves once, the transfer closes with the last', async () => {
    const [one, two] = [await w.animal(giver), await w.animal(giver)];
    const transferId = await accepted(one, two);
    await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
    const part = (animal: string) =>
      w.receive.execute(receiver.viewer, {
        transferId,
        receivedOn: TODAY,
        items: [arrived(animal, { well: 1 })],
        moreToCome: true,
      });
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(part(one), part(two));
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    expect(await stateOf(transferId)).toBe('received');
    for (const animal of [one, two])
      expect((await w.custody(animal)).at(-1)).toMatchObject({ holder: receiver.keeperId });
  });

  it('a receipt against the confirmation that nothing arrived: one of them', async () => {
    const animal = await w.animal(giver);
    const transferId = await accepted(animal);
    await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
    await w.fail.execute(receiver.viewer, { transferId, failure: 'never_arrived' });
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const receipt = { transferId, receivedOn: TODAY, items: [arrived(animal, { well: 1 })] };
    const both = outcomes(
      w.receive.execute(receiver.viewer, receipt),
      w.fail.execute(giver.viewer, { transferId, failure: 'never_arrived' }),
    );
    await barrier.releaseWhenWaiting(2);
    const [received, failed] = await both;
    expect([received, failed].sort()).toEqual(['TRANSFER_NOT_SENT', 'done']);
    const holder = received === 'done' ? receiver.keeperId : giver.keeperId;
    expect((await w.custody(animal)).filter(({ to }) => to === null)).toMatchObject([{ holder }]);
  });

  it('a step repeated with the same key after a lost answer, on another instance: it happened once', async () => {
    const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, await w.animal(giver)));
    const viewer = { ...receiver.viewer, idempotencyKey: uuid() };
    const elsewhere = await w.another();
    const barrier = await holdRow(w.url, 'transfer', transferId);
    const both = outcomes(
      w.accept.execute(viewer, { transferId }),
      elsewhere.accept.execute({ ...viewer, requestId: uuid() }, { transferId }),
    );
    await barrier.releaseWhenWaiting(2);
    expect(await both).toEqual(['done', 'done']);
    await elsewhere.accept.execute(viewer, { transferId });
    await elsewhere.close();
    expect((await w.store.getVisible(giver.viewer, transferId)).transfer.version).toBe(2);
  });
});

describe('a hand-over against what happens to the animal meanwhile', () => {
  const TODAY_DEATH = { on: TODAY, cause: null, count: null };

  it('an offer against a death: the death stands, and what was promised before it is not sent, and can be cancelled', async () => {
    const animal = await w.animal(giver);
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(
      w.offer.execute(giver.viewer, gift(giver, receiver, animal)),
      new RecordDeath(w.uow).execute(giver.viewer, { animalId: animal, ...TODAY_DEATH }),
    );
    await barrier.releaseWhenWaiting(2);
    const [promised, died] = await both;
    expect(died).toBe('done');
    expect(await w.custody(animal)).toMatchObject([{ holder: giver.keeperId, leftBy: 'died' }]);
    const item = await w.client.transferItem.findFirst({ where: { animalId: animal, open: true } });
    expect(item === null).toBe(promised !== 'done');
    if (item === null) return;
    const { transferId } = item;
    await w.accept.execute(receiver.viewer, { transferId });
    const sent = w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
    expect(await outcomes(sent)).toEqual(['TRANSFER_ANIMAL_GONE']);
    await w.cancel.execute(giver.viewer, { transferId, reason: 'It died.' });
  });

  it('a receipt against a death with the giver: the animal is counted once', async () => {
    const animal = await w.animal(giver);
    const transferId = await offered(animal);
    await w.accept.execute(receiver.viewer, { transferId });
    await w.send.execute(giver.viewer, { transferId, sentOn: day('2026-06-01') });
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = outcomes(
      w.receive.execute(receiver.viewer, {
        transferId,
        receivedOn: day('2026-06-02'),
        items: [arrived(animal, { well: 1 })],
      }),
      new RecordDeath(w.uow).execute(giver.viewer, { animalId: animal, ...TODAY_DEATH }),
    );
    await barrier.releaseWhenWaiting(2);
    expect((await both).filter((one) => one === 'done')).toHaveLength(1);
    expect((await w.custody(animal)).filter(({ to }) => to === null).length).toBeLessThanOrEqual(1);
  });

  it('two splits that together are more than the lot has: one happens, the lot balances', async () => {
    const lot = await w.animal(giver, { lotOf: 10 });
    const split = new SplitLot(w.uow);
    const barrier = await holdRow(w.url, 'animal', lot);
    const once = () => split.execute(giver.viewer, { lotId: lot, count: 6, on: TODAY });
    const both = outcomes(once(), once());
    await barrier.releaseWhenWaiting(2);
    expect((await both).filter((one) => one === 'done')).toHaveLength(1);
    expect(await w.client.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 4 });
  });
});

describe('a connection that is lost in the middle of a receipt', () => {
  it('nothing of it is written; the same request again, with its key, happens once', async () => {
    const lot = await w.animal(giver, { lotOf: 9 });
    const transferId = await offered(lot);
    await w.accept.execute(receiver.viewer, { transferId });
    await w.send.execute(giver.viewer, { transferId, sentOn: day('2026-06-01') });
    const before = await rowsOf(lot);
    const viewer = { ...receiver.viewer, idempotencyKey: uuid() };
    const items = [arrived(lot, { well: 6, refused: 3 })];
    const receipt = { transferId, receivedOn: day('2026-06-02'), items };
    // The refused part is a record with custody and count already when its parents are copied: there it waits.
    const { id } = await w.client.lineagePopulation.findFirstOrThrow({ where: { taxonId: w.taxonId } });
    const barrier = await holdRow(w.url, 'lineage_population', id);
    const broken = outcomes(w.receive.execute(viewer, receipt));
    let cut = 0;
    for (let tries = 0; cut === 0 && tries < 200; tries += 1) {
      await sleep(20);
      const ended = await w.client.$queryRaw<unknown[]>`
        SELECT pg_terminate_backend(pid)::text FROM pg_stat_activity
        WHERE datname = current_database() AND wait_event_type = 'Lock'`;
      cut = ended.length;
    }
    expect(cut).toBe(1);
    expect(await broken).not.toEqual(['done']);
    await barrier.releaseWhenWaiting(0);
    expect(await rowsOf(lot)).toEqual(before);
    await w.receive.execute(viewer, receipt);
    await w.receive.execute(viewer, receipt);
    expect(
      (await w.ledger(transferId)).map(({ action }) => action).filter((a) => a === 'transfer.received'),
    ).toHaveLength(1);
    expect(await w.client.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 6 });
    expect((await w.custody(lot)).at(-1)).toMatchObject({ holder: receiver.keeperId });
  });

  /** What a receipt writes to. */
  async function rowsOf(lotId: string): Promise<unknown> {
    const entries = await w.client.ledgerEntry.count();
    const [lot, items] = [
      await w.client.animal.findUnique({ where: { id: lotId } }),
      await w.client.transferItem.findMany({ where: { animalId: lotId }, include: { transfer: true } }),
    ];
    const changes = await w.client.lotChange.count({ where: { OR: [{ lotId }, { counterpartId: lotId }] } });
    return { entries, lot, items, changes, custody: await w.custody(lotId), animals: await w.client.animal.count() };
  }
});
