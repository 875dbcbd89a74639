import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { day, type Viewer } from '../../libs/kernel/index.js';
import { maySee } from '../../libs/transfer/core/policy.core.js';
import { type Transfer } from '../../libs/transfer/core/transfer.core.js';
import { readTransfers, visibleTo } from '../../libs/transfer/store/transfer-row.js';
import { Prisma } from '../../libs/platform/prisma/index.js';
import { arrived, gift, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

/** Every state, both kinds of receivers, and a record taken up; every kind of viewer. Add a row when a role or state is added. */
describe('scope and policy of transfers agree', () => {
  let w: TransferWorld;
  let all: Transfer[];
  const viewers = new Map<string, Viewer>();

  beforeAll(async () => {
    w = await transferWorld();
    const [giver, receiver, buyer, third] = [
      await w.party('G'),
      await w.party('R'),
      await w.party('B'),
      await w.party('T'),
    ];
    const offer = async (to: Party) => {
      const { transferId } = await w.offer.execute(giver.viewer, gift(giver, to, await w.animal(giver)));
      return transferId;
    };
    const sent = async (animal: string) => {
      const { transferId } = await w.offer.execute(giver.viewer, gift(giver, receiver, animal));
      await w.accept.execute(receiver.viewer, { transferId });
      await w.send.execute(giver.viewer, { transferId, sentOn: TODAY });
      return transferId;
    };
    await offer(receiver);
    await w.accept.execute(receiver.viewer, { transferId: await offer(receiver) });
    await w.decline.execute(receiver.viewer, { transferId: await offer(receiver) });
    await w.withdraw.execute(giver.viewer, { transferId: await offer(receiver) });
    await sent(await w.animal(giver));
    const called = await offer(receiver);
    await w.accept.execute(receiver.viewer, { transferId: called });
    await w.cancel.execute(giver.viewer, { transferId: called, reason: 'No time.' });
    const lost = await sent(await w.animal(giver));
    for (const side of [giver, receiver])
      await w.fail.execute(side.viewer, { transferId: lost, failure: 'never_arrived' });
    await w.offer.execute(giver.viewer, { ...gift(giver, receiver, await w.animal(giver)), answerBy: TODAY });
    await w.expire(day('2026-06-11'));
    const animal = await w.animal(giver);
    const transferId = await sent(animal);
    await w.receive.execute(receiver.viewer, { transferId, receivedOn: TODAY, items: [arrived(animal, { well: 1 })] });
    // The animal goes on: who gave it first does not see the second transfer.
    await w.offer.execute(receiver.viewer, gift(receiver, third, animal));
    const outside = async () =>
      w.offer.execute(giver.viewer, {
        ...gift(giver, receiver, await w.animal(giver)),
        toKeeperId: null,
        toOutsideParty: { name: 'Somebody' },
      });
    await outside();
    const { claimCode } = await outside();
    await w.takeUp.execute(buyer.viewer, { claimCode: claimCode ?? '', keeperId: buyer.keeperId });

    const acting = (parties: Party[], role: 'owner' | 'helper'): Viewer => ({
      accountId: giver.viewer.accountId,
      keepers: parties.map(({ keeperId }) => ({ keeperId, role })),
      clubIds: [],
      offices: [],
      requestId: 'r',
    });
    for (const role of ['owner', 'helper'] as const) {
      viewers.set(`giver, ${role}`, acting([giver], role));
      viewers.set(`receiver, ${role}`, acting([receiver], role));
      viewers.set(`buyer, ${role}`, acting([buyer], role));
      viewers.set(`third, ${role}`, acting([third], role));
      viewers.set(`giver and third, ${role}`, acting([giver, third], role));
    }
    viewers.set('nobody', acting([], 'owner'));
    all = (await readTransfers(w.client, Prisma.sql`true`)).map(({ transfer }) => transfer);
  });
  afterAll(() => w.close());

  it('over a world with every state', () => {
    expect(new Set(all.map((transfer) => transfer.state)).size).toBe(9);
    expect(all).toHaveLength(12);
  });

  it('for every viewer', async () => {
    const counts: Record<string, number> = {};
    for (const [name, viewer] of viewers) {
      const inScope = (await readTransfers(w.client, visibleTo(viewer))).map(({ transfer }) => transfer);
      const byPolicy = all.filter((transfer) => maySee(viewer, transfer)).map((transfer) => transfer.id);
      expect({ name, ids: inScope.map((row) => row.id).sort() }).toEqual({ name, ids: byPolicy.sort() });
      counts[name] = byPolicy.length;
    }
    expect(counts).toMatchObject({
      'giver, owner': 11,
      'receiver, helper': 10,
      'buyer, owner': 1,
      'third, helper': 1,
      nobody: 0,
    });
  });
});
