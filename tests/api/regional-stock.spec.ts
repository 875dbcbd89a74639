import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { analyse } from '../../apps/pedigree/src/analyse.js';
import { parsePedigree } from '../../apps/pedigree/src/read-csv.js';
import { askRegion, type CountAnswer, readRegion, type RegionAnswer } from '../support/region-query.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let coordinator: TestKeeper;
let alder: TestKeeper;
let birch: TestKeeper;
let hidden: TestKeeper;
let south: TestKeeper;
let clubId: string;
let taxonId: string;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.setDay('2026-05-01');
  [coordinator, alder, birch, hidden, south] = [
    await world.keeper('Coordinator'),
    await world.keeper('Alder'),
    await world.keeper('Birch'),
    await world.keeper('Hidden'),
    await world.keeper('South'),
  ];
  clubId = await world.club(alder, birch, hidden, south);
  const live = (keeper: TestKeeper, region: string, holdingsShown: 'nobody' | 'coordinator' | 'club') =>
    world.db.keeper.update({ where: { id: keeper.keeperId }, data: { region, holdingsShown } });
  await live(alder, 'XA-NO', 'coordinator');
  await live(birch, 'XA-NO', 'club');
  await live(hidden, 'XA-NO', 'nobody');
  await live(south, 'XA-SO', 'club');
  await world.db.office.create({
    data: {
      id: uuid(),
      clubId,
      accountId: coordinator.accountId,
      region: 'XA-NO',
      validFrom: new Date('2026-01-01'),
    },
  });
  taxonId = await world.taxon();
  await world.db.taxon.update({
    where: { id: taxonId },
    data: { profile: { maturityDays: { value: 400, source: 'test' } } },
  });
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const read = (since: string, asOf: string): Promise<RegionAnswer> =>
  readRegion(test, { clubId, region: 'XA-NO', since, asOf, taxonId }, coordinator.token);

async function send(name: string, input: object, who: TestKeeper, fields: string): Promise<{ transfer: Transfer }> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await test.get<Record<string, { transfer: Transfer }>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
  const payload = answer[name];
  if (payload === undefined) throw new Error(`${name} gave nothing`);
  return payload;
}
type Transfer = { id: string; items: { animalId: string; count: number }[] };

/** Hands an animal, or some of a lot, over within the day the clock stands at. Gives what arrived. */
async function handOver(from: TestKeeper, to: TestKeeper, animalId: string, on: string, count?: number) {
  const { transfer } = await send(
    'offerTransfer',
    { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [{ animalId, count }] },
    from,
    'transfer { id items { animalId count } }',
  );
  const transferId = transfer.id;
  const fields = 'transfer { id }';
  await send('acceptTransfer', { transferId }, to, fields);
  await send('sendTransfer', { transferId, sentOn: on }, from, fields);
  const items = transfer.items.map((item) => ({
    animalId: item.animalId,
    arrivals: [{ state: 'well', count: item.count }],
  }));
  await send('receiveTransfer', { transferId, receivedOn: on, items }, to, fields);
}

const mutate = (name: string, type: string, input: object, who: TestKeeper, fields: string) =>
  test.get(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, who.token);

/** Movements and stock as one line each. */
const movements = ({ opening, births, arrivals, deaths, departures, closing, unaccounted }: CountAnswer) => ({
  opening,
  births,
  arrivals,
  deaths,
  departures,
  closing,
  unaccounted,
});

describe('the stock of a region', () => {
  const animals: Record<string, string> = {};
  let lot: string;

  it('is empty, with zeros, where nobody has anything, and where nobody lives', async () => {
    for (const region of ['XA-NO', 'ZZ-999']) {
      await world.db.office.updateMany({ where: { accountId: coordinator.accountId }, data: { region } });
      const args = { clubId, region, since: '2026-04-01', asOf: '2026-05-01' };
      const { total, taxa } = await readRegion(test, args, coordinator.token);
      expect(taxa.edges).toEqual([]);
      const { sexes, ...numbers } = total;
      expect(sexes).toBe('0.0.0');
      expect(Object.values(numbers).every((each) => each === 0)).toBe(true);
    }
    await world.db.office.updateMany({ where: { accountId: coordinator.accountId }, data: { region: 'XA-NO' } });
  });

  it('counts what is there by sex, age and origin', async () => {
    const grown = { birth: { edtf: '2020', manner: 'hatched' }, since: '2026-04-20' };
    animals['sire'] = await world.animal(alder, taxonId, { ...grown, sex: 'male', originClass: 'wild' });
    animals['dam'] = await world.animal(alder, taxonId, {
      ...grown,
      sex: 'female',
      originClass: 'bred',
      founder: true,
    });
    animals['female'] = await world.animal(birch, taxonId, { sex: 'female', founder: true, since: '2026-04-20' });
    animals['guest'] = await world.animal(hidden, taxonId, { ...grown, sex: 'male', founder: true });
    animals['southern'] = await world.animal(south, taxonId, { ...grown, sex: 'male', founder: true });
    lot = await world.lot(alder, taxonId, 20, { birth: { edtf: '2026-04', manner: 'hatched' }, since: '2026-04-20' });
    const { total, taxa } = await read('2026-04-01', '2026-05-01');
    expect(total).toMatchObject({
      opening: 0,
      arrivals: 23,
      closing: 23,
      unaccounted: 0,
      sexes: '1.2.20',
      juveniles: 20,
      adults: 2,
      ageNotKnown: 1,
      bred: 1,
      wild: 1,
      ranched: 0,
      originNotKnown: 21,
      keepers: 2,
    });
    expect(taxa.edges.map(({ node }) => node.taxon.id)).toEqual([taxonId]);
    expect(taxa.edges[0]?.node.count).toEqual(total);
  });

  it('reconciles after births, deaths, hand-overs within, out and in, splits and losses', async () => {
    test.setDay('2026-05-12');
    const parents = { sireId: animals['sire'], damId: animals['dam'] };
    const hatched = {
      birth: { edtf: '2026-05-12', manner: 'hatched' },
      since: '2026-05-12',
      arrivedBy: 'born',
      originClass: 'bred',
    };
    animals['child'] = await world.animal(alder, taxonId, { ...hatched, ...parents });
    expect(movements((await read('2026-05-10', '2026-05-12')).total)).toEqual({
      opening: 23,
      births: 1,
      arrivals: 0,
      deaths: 0,
      departures: 0,
      closing: 24,
      unaccounted: 0,
    });

    test.setDay('2026-05-15');
    await mutate('splitLot', 'SplitLotInput', { lotId: lot, count: 5, on: '2026-05-15' }, alder, 'newLot { id }');
    await mutate(
      'recordDeath',
      'RecordDeathInput',
      { animalId: lot, count: 3, on: '2026-05-15' },
      alder,
      'animal { id }',
    );
    test.setDay('2026-05-18');
    await handOver(alder, birch, animals['child'], '2026-05-18');
    const quiet = await read('2026-05-13', '2026-05-18');
    expect(movements(quiet.total)).toEqual({
      opening: 24,
      births: 0,
      arrivals: 0,
      deaths: 3,
      departures: 0,
      closing: 21,
      unaccounted: 0,
    });

    test.setDay('2026-05-20');
    await handOver(birch, south, animals['female'] ?? '', '2026-05-20');
    await handOver(hidden, birch, animals['guest'] ?? '', '2026-05-20');
    await handOver(alder, hidden, lot, '2026-05-20', 4);
    test.setDay('2026-05-26');
    await handOver(south, alder, animals['southern'] ?? '', '2026-05-26');
    await mutate(
      'recordDeath',
      'RecordDeathInput',
      { animalId: animals['southern'], on: '2026-05-26' },
      alder,
      'animal { id }',
    );
    test.setDay('2026-06-01');
    const { total } = await read('2026-05-19', '2026-06-01');
    expect(movements(total)).toEqual({
      opening: 21,
      births: 0,
      arrivals: 2, // from one who shows nothing, and from the south
      deaths: 1,
      departures: 5, // to the south, and four to one who shows nothing
      closing: 17,
      unaccounted: 0,
    });
    expect(total.sexes).toBe('2.1.14');
    expect(movements((await read('2026-05-10', '2026-06-01')).total)).toEqual({
      opening: 23,
      births: 1,
      arrivals: 2,
      deaths: 4,
      departures: 5,
      closing: 17,
      unaccounted: 0,
    });
  });

  it('shows a corrected count as unaccounted for', async () => {
    await world.db.$transaction([
      world.db.lotChange.create({
        data: {
          id: uuid(),
          lotId: lot,
          cause: 'corrected',
          delta: 2,
          happenedOn: new Date('2026-05-30'),
          recordedAt: new Date('2026-05-30T09:00:00Z'),
          recordedBy: alder.keeperId,
        },
      }),
      world.db.animal.update({ where: { id: lot }, data: { count: { increment: 2 } } }),
    ]);
    const { total } = await read('2026-05-19', '2026-06-01');
    expect([total.closing, total.unaccounted]).toEqual([19, 2]);
  });

  it('gives mean kinship, gene diversity and known ancestry as the pedigree command does for the same animals', async () => {
    const brother = await world.animal(alder, taxonId, {
      sex: 'male',
      sireId: animals['sire'],
      damId: animals['dam'],
    });
    const inbred = await world.animal(birch, taxonId, { sireId: brother, damId: animals['dam'] });
    const half = await world.animal(alder, taxonId, { damId: animals['dam'] });
    const away = await world.animal(south, taxonId, { sireId: brother, damId: animals['female'] });
    const { taxa } = await read('2026-05-19', '2026-06-01');
    const genetics = taxa.edges[0]?.node.genetics;

    const { sire = '', dam = '', child = '', female = '', guest = '', southern = '' } = animals;
    const csv = [
      'id,sire,dam,here',
      `${sire},,,yes`,
      `${dam},,,yes`,
      `${female},,,no`,
      `${guest},,,yes`,
      `${southern},,,no`,
      `${child},${sire},${dam},yes`,
      `${brother},${sire},${dam},yes`,
      `${inbred},${brother},${dam},yes`,
      `${half},,${dam},yes`,
      `${away},${brother},${female},no`,
    ].join('\n');
    const { computed } = analyse(parsePedigree(csv), { reference: { column: 'here', value: 'yes' } });
    if (computed === undefined || genetics === undefined) throw new Error('Nothing was computed.');
    const { size, meanKinship, geneDiversity, knownAncestry } = computed.population;
    expect(genetics).toMatchObject({ size, asOf: '2026-06-01', whyNot: null });
    expect(size).toBe(7);
    expect(genetics.meanKinship).toBeCloseTo(meanKinship, 12);
    expect(genetics.geneDiversity).toBeCloseTo(geneDiversity, 12);
    expect(genetics.knownAncestry).toBeCloseTo(knownAncestry, 12);
    expect(knownAncestry).toBeLessThan(1);
  });

  it('gives no genetic state for a past day, nor for a stock of lots, and says why', async () => {
    const past = (await read('2026-05-19', '2026-05-31')).taxa.edges[0]?.node.genetics;
    expect(past).toMatchObject({ size: null, meanKinship: null });
    expect(past?.whyNot).toContain('for today only');
    const frogs = await world.taxon();
    await world.lot(alder, frogs, 9);
    const args = { clubId, region: 'XA-NO', since: '2026-06-01', asOf: '2026-06-01', taxonId: frogs };
    const lots = (await readRegion(test, args, coordinator.token)).taxa.edges[0]?.node.genetics;
    expect(lots?.meanKinship).toBeNull();
    expect(lots?.whyNot).toContain('No living individual');
  });
});

describe('bad input', () => {
  const good = { region: 'XA-NO', since: '2026-05-01', asOf: '2026-06-01' };

  it.each([
    ['a region that is none', { region: 'north' }, ['region']],
    ['small letters', { region: 'xa-no' }, ['region']],
    ['an empty region', { region: '' }, ['region']],
    ['a day to come', { asOf: '2026-06-02' }, ['asOf']],
    ['days in reverse', { since: '2026-06-02', asOf: '2026-06-01' }, ['since']],
    ['all of it', { region: 'AT-', since: '2027-02-01', asOf: '2027-01-01' }, ['region', 'asOf', 'since']],
  ])('%s', async (_, bad, paths) => {
    const { errors } = await askRegion(test, { clubId, ...good, ...bad }, coordinator.token);
    expect(errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
    expect(errors?.[0]?.extensions.fields.map(({ path }) => path)).toEqual(paths);
  });

  it('ids that are none, or of nothing', async () => {
    for (const id of ['no-id', '', uuid()]) {
      const club = await askRegion(test, { ...good, clubId: id }, coordinator.token);
      expect(club.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
      const taxon = await askRegion(test, { ...good, clubId, taxonId: id }, coordinator.token);
      expect(taxon.errors?.[0]).toMatchObject({
        message: 'No taxon with this id is visible to you.',
        extensions: { code: 'NOT_FOUND' },
      });
    }
  });
});
