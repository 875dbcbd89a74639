import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { MoveFamily } from '../../libs/breeding/app/move-family.js';
import { RecordClutch } from '../../libs/breeding/app/record-clutch.js';
import { RecordEggEvents } from '../../libs/breeding/app/record-egg-events.js';
import { RecordHatchlings } from '../../libs/breeding/app/record-hatchlings.js';
import { CorrectBreedingFact } from '../../libs/breeding/app/correct-breeding-fact.js';
import { PlaceAnimals } from '../../libs/housing/app/place-animals.js';
import { RecordEnclosure } from '../../libs/housing/app/record-enclosure.js';
import { day, exactDay } from '../../libs/kernel/index.js';
import { holdRow, type Party, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let keeper: Party;
beforeAll(async () => {
  w = await transferWorld();
  keeper = await w.party('Keeper');
});
afterAll(() => w.close());

const LAID = exactDay(day('2026-05-01'));
const clutch = (damId: string | null, more: object = {}) =>
  new RecordClutch(w.uow).execute(keeper.viewer, {
    damId,
    laid: LAID,
    foundOn: null,
    eggCount: 3,
    controlled: 'unknown',
    ...more,
  });
const enclosure = async () =>
  (
    await new RecordEnclosure(w.uow).execute(keeper.viewer, {
      keeperId: keeper.keeperId,
      name: 'Pond',
      controlled: 'yes',
      controlledSince: null,
    })
  ).enclosureId;
const place = (enclosureId: string, animalIds: string[], from: string) =>
  new PlaceAnimals(w.uow).execute(keeper.viewer, { enclosureId, animalIds, from: day(from) });

async function outcomes(all: Promise<PromiseSettledResult<unknown>[]>) {
  return (await all).map((one) =>
    one.status === 'fulfilled' ? 'recorded' : ((one.reason as { rule?: string }).rule ?? String(one.reason)),
  );
}

it.each([1, 2, 3])('one clutch recorded by two people at once: the second gets the offer to merge (%i)', async () => {
  const dam = await w.animal(keeper);
  const barrier = await holdRow(w.url, 'animal', dam);
  const both = Promise.allSettled([clutch(dam), clutch(dam)]);
  await barrier.releaseWhenWaiting(2);
  expect((await outcomes(both)).toSorted()).toEqual(['CLUTCH_PROBABLY_RECORDED', 'recorded']);
  expect(await w.client.clutch.count({ where: { damId: dam } })).toBe(1);
});

it('one clutch of a group, of which two people each suspect other dams, meets at the enclosure', async () => {
  const enclosureId = await enclosure();
  const [a, b, c, d] = [await w.animal(keeper), await w.animal(keeper), await w.animal(keeper), await w.animal(keeper)];
  const of = (one: string, two: string) => [
    { parentId: one, probability: 0.5 },
    { parentId: two, probability: 0.5 },
  ];
  const barrier = await holdRow(w.url, 'enclosure', enclosureId);
  const both = Promise.allSettled([
    clutch(null, { enclosureId, damCandidates: of(a, b) }),
    clutch(null, { enclosureId, damCandidates: of(c, d) }),
  ]);
  await barrier.releaseWhenWaiting(2);
  expect((await outcomes(both)).toSorted()).toEqual(['CLUTCH_PROBABLY_RECORDED', 'recorded']);
});

it.each([1, 2, 3])('one animal placed in two enclosures at once: one place on a day (%i)', async () => {
  const [pond, shed, animal] = [await enclosure(), await enclosure(), await w.animal(keeper)];
  const barrier = await holdRow(w.url, 'animal', animal);
  const both = Promise.allSettled([place(pond, [animal], '2026-03-01'), place(shed, [animal], '2026-02-01')]);
  await barrier.releaseWhenWaiting(2);
  const told = await outcomes(both);
  const rows = await w.client.placement.findMany({
    where: { animalId: animal, supersededAt: null },
    orderBy: { validFrom: 'asc' },
  });
  // Whichever came first: the later day follows the earlier one, the earlier one after the later is refused.
  expect(told[0]).toBe('recorded');
  expect(['recorded', 'PLACEMENT_DAY_TOO_EARLY']).toContain(told[1]);
  expect(rows.filter((row) => row.validTo === null)).toHaveLength(1);
  for (const [i, row] of rows.slice(1).entries()) expect(rows[i]?.validTo).toEqual(row.validFrom);
});

it('past stays that overlap, written at once past the lock, are kept apart by the database', async () => {
  const [pond, animal] = [await enclosure(), await w.animal(keeper)];
  const stay = (from: string, to: string, n: number) =>
    w.client.placement.create({
      data: {
        id: `00000000-0000-7000-8000-00000000000${n}`,
        animalId: animal,
        enclosureId: pond,
        validFrom: new Date(from),
        validTo: new Date(to),
        recordedAt: new Date(),
        recordedBy: animal,
      },
    });
  const both = await Promise.allSettled([stay('2026-02-01', '2026-02-10', 1), stay('2026-02-09', '2026-02-12', 2)]);
  expect(both.filter((one) => one.status === 'fulfilled')).toHaveLength(1);
});

it('young of one egg recorded by two people at once: two at most come out of it', async () => {
  const dam = await w.animal(keeper);
  const { clutchId } = await clutch(dam);
  const hatch = (names: number) =>
    new RecordHatchlings(w.uow).execute(keeper.viewer, {
      clutchId,
      keeperId: null,
      taxonId: null,
      lineId: null,
      when: exactDay(day('2026-06-01')),
      controlled: 'unknown',
      originClass: null,
      since: null,
      enclosureId: null,
      dam: undefined,
      sire: undefined,
      young: Array.from({ length: names }, () => ({
        name: null,
        sex: null,
        marks: [],
        eggNumber: 1,
        count: 1,
        countEstimated: false,
      })),
    });
  const barrier = await holdRow(w.url, 'clutch', clutchId);
  const both = Promise.allSettled([hatch(2), hatch(1)]);
  await barrier.releaseWhenWaiting(2);
  const told = await outcomes(both);
  expect(told.toSorted()).toEqual(['EGG_THREE_YOUNG', 'recorded']);
  const young = await w.client.hatching.count({ where: { clutchId } });
  expect(young).toBe(told[0] === 'recorded' ? 2 : 1);
});

it('a clutch that is corrected while its eggs are candled keeps one version in force, with the eggs', async () => {
  const dam = await w.animal(keeper);
  const { clutchId } = await clutch(dam);
  const barrier = await holdRow(w.url, 'clutch', clutchId);
  const correct = (eggCount: number) =>
    new CorrectBreedingFact(w.uow).execute(keeper.viewer, {
      kind: 'clutch',
      factId: clutchId,
      reason: 'Counted again.',
      takeBack: false,
      when: undefined,
      controlled: undefined,
      eggCount,
    });
  const candle = new RecordEggEvents(w.uow).execute(keeper.viewer, {
    clutchId,
    eggs: [1],
    kind: 'candled',
    candling: 'fertile',
    when: exactDay(day('2026-05-20')),
    enclosureId: null,
    incubator: null,
    celsius: null,
  });
  const all = Promise.allSettled([correct(4), correct(5), candle]);
  await barrier.releaseWhenWaiting(2);
  expect(await outcomes(all)).toEqual(['recorded', 'recorded', 'recorded']);
  const versions = await w.client.clutch.findMany({ where: { originalId: clutchId } });
  expect(versions.filter((row) => row.supersededAt === null)).toHaveLength(1);
  expect(versions).toHaveLength(3);
  expect(await w.client.eggEvent.count({ where: { clutchId } })).toBe(1);
});

it('an animal placed elsewhere at the moment its family moves is not dragged along, nor its eggs', async () => {
  const [pond, shed, house] = [await enclosure(), await enclosure(), await enclosure()];
  const [one, other] = [await w.animal(keeper), await w.animal(keeper)];
  await place(pond, [one, other], '2026-03-01');
  const { clutchId } = await clutch(one, { enclosureId: pond });
  const move = (clutches: { clutchId: string; eggs: null }[], animalIds: string[], from: string | null, to: string) =>
    new MoveFamily(w.uow).execute(keeper.viewer, {
      toEnclosureId: to,
      fromEnclosureId: from,
      animalIds,
      clutches,
      on: day('2026-06-09'),
    });
  const barrier = await holdRow(w.url, 'animal', one);
  const first = move([{ clutchId, eggs: null }], [one], null, shed);
  await barrier.untilWaiting(1); // it stands first in the queue for the animal
  const second = move([], [], pond, house);
  await barrier.releaseWhenWaiting(2);
  expect(await outcomes(Promise.allSettled([first, second]))).toEqual(['recorded', 'recorded']);
  const stays = await w.client.placement.findMany({
    where: { animalId: { in: [one, other] }, supersededAt: null, validTo: null },
  });
  expect(new Map(stays.map((stay) => [stay.animalId, stay.enclosureId]))).toEqual(
    new Map([
      [one, shed],
      [other, house],
    ]),
  );
  expect(await w.client.eggEvent.findMany({ where: { clutchId, kind: 'moved' } })).toMatchObject([
    { enclosureId: shed },
  ]);
});
