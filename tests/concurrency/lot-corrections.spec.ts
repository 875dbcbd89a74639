import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { ChangeLot } from '../../libs/custody/app/change-lot.js';
import { CorrectLotChange } from '../../libs/custody/app/correct-lot-change.js';
import { SplitLot } from '../../libs/custody/app/split-lot.js';
import { gift, holdRow, type Party, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let giver: Party;
let receiver: Party;
beforeAll(async () => {
  w = await transferWorld();
  [giver, receiver] = [await w.party('Giver'), await w.party('Receiver')];
});
afterAll(() => w.close());

/** A lot of ten of which two died, and that change. */
async function lotWithLoss(): Promise<{ lot: string; changeId: string }> {
  const lot = await w.animal(giver, { lotOf: 10 });
  await new ChangeLot(w.uow).execute(giver.viewer, { kind: 'lost', cause: 'died', lotId: lot, count: 2, on: TODAY });
  const { id } = await w.client.lotChange.findFirstOrThrow({ where: { lotId: lot, cause: 'died' } });
  return { lot, changeId: id };
}

const correct = (changeId: string, count: number) =>
  new CorrectLotChange(w.uow).execute(giver.viewer, { changeId, reason: 'A slip.', takeBack: false, count });

/** 'done', or the rule that refused, of both, let go together at the row of the lot. */
async function together(lot: string, one: () => Promise<unknown>, other: () => Promise<unknown>): Promise<string[]> {
  const barrier = await holdRow(w.url, 'animal', lot);
  const both = Promise.allSettled([one(), other()]);
  await barrier.releaseWhenWaiting(2);
  return (await both).map((each) =>
    each.status === 'fulfilled' ? 'done' : ((each.reason as { rule?: string }).rule ?? String(each.reason)),
  );
}

const countOf = async (lot: string) => (await w.client.animal.findUniqueOrThrow({ where: { id: lot } })).count;

it('a correction and a split that do not go together: one of them happens', async () => {
  const { lot, changeId } = await lotWithLoss();
  const split = new SplitLot(w.uow);
  const [corrected, parted] = await together(
    lot,
    () => correct(changeId, 8),
    () => split.execute(giver.viewer, { lotId: lot, count: 5, on: TODAY }),
  );
  if (corrected === 'done') expect([parted, await countOf(lot)]).toEqual(['LOT_TOO_SMALL', 2]);
  else expect([corrected, parted, await countOf(lot)]).toEqual(['LOT_CHANGE_COUNTED_ON', 'done', 3]);
});

it('a correction and an offer: what is offered is what the lot counts', async () => {
  const { lot, changeId } = await lotWithLoss();
  const [corrected, offered] = await together(
    lot,
    () => correct(changeId, 3),
    () => w.offer.execute(giver.viewer, gift(giver, receiver, lot)),
  );
  expect([offered, ['done', 'LOT_CHANGE_OFFERED'].includes(corrected ?? '')]).toEqual(['done', true]);
  const item = await w.client.transferItem.findFirstOrThrow({ where: { animalId: lot } });
  expect([item.count, await countOf(lot)]).toEqual(corrected === 'done' ? [7, 7] : [8, 8]);
});

it('two corrections of one change: the second is told which took its place', async () => {
  const { lot, changeId } = await lotWithLoss();
  const both = await together(
    lot,
    () => correct(changeId, 3),
    () => correct(changeId, 4),
  );
  expect(both.toSorted()).toEqual(['LOT_CHANGE_NOT_IN_FORCE', 'done']);
  expect(await countOf(lot)).toBe(both[0] === 'done' ? 7 : 6);
});
