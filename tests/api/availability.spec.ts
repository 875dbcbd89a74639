import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { endQuarantine } from '../support/end-quarantine.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let holder: TestKeeper;
let mate: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;

const SET = `mutation ($input: SetBreedingAvailabilityInput!) { setBreedingAvailability(input: $input) {
  animal { openForBreeding breedingAvailability { open until offers } } } }`;
const READ = `query ($id: ID!) { animal(id: $id) { openForBreeding breedingAvailability { open until offers } } }`;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [holder, mate, stranger] = [await world.keeper('Holder'), await world.keeper('Mate'), await world.keeper('Stranger')];
  await world.club(holder, mate);
  taxonId = await world.taxon();
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

const set = (input: object, keeper: TestKeeper) => test.ask<never>(SET, { input }, keeper.token);
const read = async (id: string, keeper: TestKeeper) =>
  (
    await test.get<{ animal: { openForBreeding: boolean | null; breedingAvailability: object | null } }>(
      READ,
      { id },
      keeper.token,
    )
  ).animal;

it('is said by the holder in full, read by the club as yes or no, and taken back', async () => {
  const id = await world.animal(holder, taxonId, { sex: 'male' });
  expect(await read(id, mate)).toEqual({ openForBreeding: null, breedingAvailability: null });
  test.setDay('2026-11-25');
  await set({ animalId: id, open: true, until: '2026-12-01', offers: ['sale', 'loan', 'loan'] }, holder);
  expect(await read(id, holder)).toEqual({
    openForBreeding: true,
    breedingAvailability: { open: true, until: '2026-12-01', offers: ['loan', 'sale'] },
  });
  expect(await read(id, mate)).toEqual({ openForBreeding: true, breedingAvailability: null });
  test.setDay('2026-12-02');
  expect(await read(id, mate)).toEqual({ openForBreeding: null, breedingAvailability: null });
  test.setDay(null);
  await set({ animalId: id, open: false }, holder);
  expect(await read(id, mate)).toMatchObject({ openForBreeding: false });
  await set({ animalId: id }, holder);
  expect(await read(id, mate)).toMatchObject({ openForBreeding: null });
  const entries = await world.db.ledgerEntry.findMany({
    where: { action: 'breeding-availability.set', subjects: { has: id } },
    orderBy: { id: 'asc' },
  });
  expect(entries.map(({ body }) => (JSON.parse(body) as { open: boolean | null }).open)).toEqual([true, false, null]);
});

it('is not for others to say, and not of lots, the dead or past days', async () => {
  const id = await world.animal(holder, taxonId, { sex: 'male' });
  expect((await set({ animalId: id, open: true }, mate)).errors?.[0]?.extensions.code).toBe('FORBIDDEN');
  expect((await set({ animalId: id, open: true }, stranger)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  const lot = await world.lot(holder, taxonId, 3);
  expect((await set({ animalId: lot, open: true }, holder)).errors?.[0]?.extensions.rule).toBe('NOT_AN_INDIVIDUAL');
  expect((await set({ animalId: id, open: true, until: '2020-01-01' }, holder)).errors?.[0]?.extensions).toMatchObject({
    code: 'INVALID_INPUT',
    fields: [{ path: 'input.until' }],
  });
});

it('lapses when the animal goes to another, and does not come back with it', async () => {
  const id = await world.animal(holder, taxonId, { sex: 'male' });
  await set({ animalId: id, open: true }, holder);
  const stay = await world.db.animalAccess.findFirstOrThrow({ where: { animalId: id, relation: 'holder' } });
  const today = new Date().toISOString().slice(0, 10);
  const give = async (from: TestKeeper, to: TestKeeper) => {
    const { offerTransfer } = await test.get<{ offerTransfer: { transfer: { id: string } } }>(
      `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
      { input: { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [{ animalId: id }] } },
      from.token,
    );
    const transferId = offerTransfer.transfer.id;
    const step = (name: string, more: object, keeper: TestKeeper) =>
      test.get(
        `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { transfer { id } } }`,
        { input: { transferId, ...more } },
        keeper.token,
      );
    await step('acceptTransfer', {}, to);
    await endQuarantine(world.db, id, today);
    await step('sendTransfer', { sentOn: today }, from);
    await step(
      'receiveTransfer',
      { receivedOn: today, items: [{ animalId: id, arrivals: [{ state: 'well', count: 1 }] }] },
      to,
    );
  };
  await give(holder, mate);
  expect(await read(id, mate)).toEqual({ openForBreeding: null, breedingAvailability: null });
  expect(await read(id, holder)).toEqual({ openForBreeding: null, breedingAvailability: null });
  expect(await world.db.breedingAvailability.count({ where: { accessId: stay.id } })).toBe(1);
  await give(mate, holder);
  expect(await read(id, holder)).toMatchObject({ openForBreeding: null });
});
