import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

type Forecast = {
  offspringInbreeding: number;
  range: { low: number; high: number; exact: boolean; uncertainParents: number } | null;
  words: string;
  knownAncestry: number;
  diversity: { offspring: number; geneDiversity: number; change: number }[] | null;
  unknown: string[];
  warnings: { code: string; message: string }[];
  population: { size: number; geneDiversity: number } | null;
};

const QUERY = `query ($damId: ID!, $sireId: ID!, $offspring: Int) { pairForecast(damId: $damId, sireId: $sireId, offspring: $offspring) {
  dam { id } sire { id } offspringInbreeding range { low high exact uncertainParents } words knownAncestry
  diversity { offspring geneDiversity change } unknown warnings { code message } population { size geneDiversity } } }`;

let test: TestApp;
let world: RegistryWorld;
let keeper: TestKeeper;
let mate: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [keeper, mate, stranger] = [await world.keeper('Keeper'), await world.keeper('Mate'), await world.keeper('Stranger')];
  await world.club(keeper, mate);
  taxonId = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const forecast = (damId: string, sireId: string, who = keeper, offspring: number | null = null) =>
  test.ask<{ pairForecast: Forecast }>(QUERY, { damId, sireId, offspring }, who.token);
const answer = async (damId: string, sireId: string, offspring: number | null = null) => {
  const { data, errors } = await forecast(damId, sireId, keeper, offspring);
  if (data === null) throw new Error(JSON.stringify(errors));
  return data.pairForecast;
};
const claim = (animalId: string, role: 'sire' | 'dam', candidates: [string, number][]) =>
  test.get(
    `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
    {
      input: {
        animalId,
        role,
        basis: 'declared',
        reason: 'A test.',
        candidates: candidates.map(([parentId, probability]) => ({ parentId, probability })),
      },
    },
    keeper.token,
  );

describe('a forecast for a pair', () => {
  let sire: string;
  let second: string;
  let dam: string;
  let son: string;
  let daughter: string;

  beforeAll(async () => {
    sire = await world.animal(keeper, taxonId, { sex: 'male', birth: { edtf: '2015', manner: 'hatched' } });
    second = await world.animal(keeper, taxonId, { sex: 'male', birth: { edtf: '2015', manner: 'hatched' } });
    dam = await world.animal(keeper, taxonId, { sex: 'female', birth: { edtf: '2015', manner: 'hatched' } });
    son = await world.animal(keeper, taxonId, {
      sex: 'male',
      sireId: sire,
      damId: dam,
      birth: { edtf: '2020', manner: 'hatched' },
    });
    daughter = await world.animal(keeper, taxonId, {
      sex: 'female',
      damId: dam,
      birth: { edtf: '2020', manner: 'hatched' },
    });
  });

  it('gives textbook numbers: full siblings ¼, and gene diversity by hand', async () => {
    const uncle = await world.animal(keeper, taxonId, {
      sex: 'female',
      sireId: sire,
      damId: dam,
      birth: { edtf: '2021', manner: 'hatched' },
    });
    const found = await answer(uncle, son, 3);
    expect(found).toMatchObject({
      offspringInbreeding: 0.25,
      range: { low: 0.25, high: 0.25, exact: true, uncertainParents: 0 },
      knownAncestry: 0,
    });
    expect(found.warnings.map(({ code }) => code)).toEqual(['PAIR_CLOSELY_RELATED']);
    expect(found.unknown).toEqual([
      'the origin of the dam is not known',
      'the origin of the sire is not known',
      'the parents of the dam’s sire are not known',
      'the parents of the dam’s dam are not known',
      'the parents of the sire’s sire are not known',
      'the parents of the sire’s dam are not known',
    ]);
    // Six live: sire s, second t, dam d, son and its sister of s × d, daughter of d. Kinships by hand, summed over all pairs.
    const f = {
      own: 6 * 0.5,
      parents: 2 * (4 * 0.25 + 0.25), // s, d with son and sister; d with daughter
      siblings: 2 * (0.25 + 2 * 0.125), // son and sister; each with the half sister
    };
    const sum = f.own + f.parents + f.siblings;
    expect(found.population?.size).toBe(6);
    expect(found.population?.geneDiversity).toBeCloseTo(1 - sum / 36, 12);
    // Rows of son and sister: s ¼, t 0, d ¼, self ½, each other ¼, daughter ⅛.
    const row = 0.25 + 0.25 + 0.5 + 0.25 + 0.125;
    expect(found.diversity).toHaveLength(3);
    for (const { offspring: k, geneDiversity, change } of found.diversity ?? []) {
      const between = 0.25 * (0.5 + 0.5 + 2 * 0.25);
      const after = 1 - (sum + 2 * k * row + k * 0.5 * 1.25 + k * (k - 1) * between) / (6 + k) ** 2;
      expect(geneDiversity).toBeCloseTo(after, 12);
      expect(change).toBeCloseTo(after - (1 - sum / 36), 12);
    }
  });

  it('has a range where a parent is one of two, and says so', async () => {
    await claim(daughter, 'sire', [
      [sire, 0.75],
      [second, 0.25],
    ]);
    const found = await answer(daughter, son);
    expect(found.offspringInbreeding).toBeCloseTo(0.125 + 0.75 * 0.125, 12);
    expect(found.range).toEqual({ low: 0.125, high: 0.25, exact: true, uncertainParents: 1 });
    expect(found.unknown).toContain('the dam’s sire has 2 candidates');
    expect(found.diversity).toHaveLength(1);
  });

  it('warns, and refuses only what has no answer', async () => {
    const line = { id: '01900000-0000-7000-8000-00000000000a', taxonId, name: 'A line' };
    await world.db.line.create({ data: line });
    const lined = await world.animal(keeper, taxonId, { sex: 'male', lineId: line.id });
    expect((await answer(son, dam)).warnings.map(({ code }) => code)).toEqual([
      'PAIR_DAM_IS_MALE',
      'PAIR_SIRE_IS_FEMALE',
      'PAIR_CLOSELY_RELATED',
    ]);
    expect((await answer(dam, lined)).warnings.map(({ code }) => code)).toEqual(['PAIR_LINES_DIFFER']);
    expect(await answer(dam, dam)).toMatchObject({
      offspringInbreeding: 0.5,
      warnings: [{ code: 'PAIR_SAME_ANIMAL' }],
    });
    const otherTaxon = await world.animal(keeper, await world.taxon(), { sex: 'male' });
    const lot = await world.lot(keeper, taxonId, 4);
    for (const [sireId, offspring, path] of [
      [otherTaxon, 1, 'sireId'],
      [lot, 1, 'sireId'],
      [son, 0, 'offspring'],
      [son, 21, 'offspring'],
    ] as const) {
      const { errors } = await forecast(dam, sireId, keeper, offspring);
      expect(errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path }] });
    }
  });

  it('is no answer where one of the two is not seen, and numbers only where lineage is shared', async () => {
    expect((await forecast(dam, son, stranger)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    const foreign = await world.animal(stranger, taxonId, { sex: 'male' });
    expect((await forecast(dam, foreign)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    expect((await forecast(dam, son, mate)).data?.pairForecast.offspringInbreeding).toBe(0.25);
  });

  it('tells a past holder the numbers of the line as it was, and nothing of the living of today', async () => {
    const male = await world.animal(keeper, taxonId, { sex: 'male', sireId: son, damId: dam });
    const gone = { validTo: new Date(), readsUntil: new Date(Date.now() + 1000) };
    const past = await world.keeper('Past');
    await world.db.animalAccess.create({
      data: {
        id: crypto.randomUUID(),
        animalId: male,
        keeperId: past.keeperId,
        relation: 'holder',
        validFrom: new Date('2026-01-01'),
        ...gone,
      },
    });
    const own = await world.animal(past, taxonId, { sex: 'female' });
    const found = (await forecast(own, male, past)).data?.pairForecast;
    expect(found).toMatchObject({ offspringInbreeding: 0, diversity: null, population: null });
    await world.db.parentageClaim.updateMany({
      where: { childId: male, role: 'sire' },
      data: { supersededAt: new Date(Date.now() + 2000) },
    });
    await world.db.lineagePopulation.update({ where: { taxonId }, data: { version: { increment: 1 } } });
    expect((await forecast(own, male, past)).errors?.[0]?.extensions.rule).toBe('LINEAGE_CHANGED_SINCE');
  });
});
