import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const RECORD = `mutation ($input: RecordFactInput!) { recordFact(input: $input) {
  factId animal { id lastSeenOn weights { edges { node { grams } } } } warnings { code message } } }`;
const GROWTH = `query ($id: ID, $quantity: Quantity!, $measure: LengthMeasure, $of: TemperaturePlace) { animal(id: $id) {
  growth(quantity: $quantity, measure: $measure, of: $of) { unit withoutDay points { day value count changePerDay relativeChangePerDay warnings { code } } }
  measurements(quantity: $quantity, first: 2) { edges { cursor node { value unit measure of edtf } } pageInfo { hasNextPage endCursor } } } }`;

type Recorded = {
  recordFact: { factId: string; animal: { lastSeenOn: string | null }; warnings: { code: string; message: string }[] };
};
type Shown = {
  animal: {
    growth: {
      unit: string;
      withoutDay: number;
      points: {
        day: string;
        value: number;
        count: number;
        changePerDay: number | null;
        warnings: { code: string }[];
      }[];
    } | null;
    measurements: { edges: { node: { value: number; unit: string; measure: string | null; edtf: string } }[] } | null;
  };
};

describe('measurements', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Alder House');
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const record = async (animalId: string, more: object) =>
    (await test.get<Recorded>(RECORD, { input: { animalId, ...more } }, keeper.token)).recordFact;
  const grams = (value: number) => ({ measurement: { quantity: 'weight', value, unit: 'g' } });
  const fields = async (more: object): Promise<unknown> => {
    const animalId = await world.animal(keeper, await world.taxon());
    const answer = await test.ask(RECORD, { input: { animalId, ...more } }, keeper.token);
    return answer.errors?.[0]?.extensions.fields.map(({ path }) => path);
  };

  it('keeps what is written in any unit in grams, millimetres and degrees, and shows the curve with the change a day', async () => {
    const id = await world.animal(keeper, await world.taxon());
    await record(id, { measurement: { quantity: 'weight', value: 0.0425, unit: 'kg' }, when: '2026-06-01' });
    await record(id, { weightGrams: 43.5, when: '2026-06-11' });
    await record(id, { weightGrams: 44, when: '2026-06' });
    const shown = await test.get<Shown>(GROWTH, { id, quantity: 'weight' }, keeper.token);
    expect(shown.animal.growth).toMatchObject({
      unit: 'g',
      withoutDay: 1,
      points: [
        { day: '2026-06-01', value: 42.5, count: 1, changePerDay: null, warnings: [] },
        { day: '2026-06-11', value: 43.5, count: 1, changePerDay: 0.1, warnings: [] },
      ],
    });
    expect(shown.animal.measurements).toMatchObject({
      edges: [{ node: { value: 44, edtf: '2026-06' } }, { node: { value: 43.5, unit: 'g', measure: null } }],
      pageInfo: { hasNextPage: true },
    });
    const length = { quantity: 'length', value: 8.4, unit: 'cm', measure: 'carapace_straight' };
    await record(id, { measurement: length, when: '2026-06-01' });
    const lengths = await test.get<Shown>(
      GROWTH,
      { id, quantity: 'length', measure: 'carapace_straight' },
      keeper.token,
    );
    expect(lengths.animal.growth?.points).toMatchObject([{ value: 84 }]);
  });

  it('warns of a slipped decimal point when it is recorded, records it, and marks it in the curve', async () => {
    const id = await world.animal(keeper, await world.taxon());
    await record(id, { ...grams(42.5), when: '2026-06-01' });
    const typo = await record(id, { ...grams(425), when: '2026-06-08' });
    expect(typo.warnings.map(({ code }) => code)).toEqual(['MEASUREMENT_TENFOLD']);
    expect(typo.warnings[0]?.message).toContain('about ten times the last weight (42.5 g on 2026-06-01)');
    expect((await record(id, { ...grams(43), when: '2026-06-15' })).warnings).toEqual([]);
    const shown = await test.get<Shown>(GROWTH, { id, quantity: 'weight' }, keeper.token);
    expect(shown.animal.growth?.points.map((point) => point.warnings.length)).toEqual([0, 1, 0]);
  });

  it('holds size against the taxon, and names the source of the bound', async () => {
    const taxonId = await world.taxon();
    const profile = {
      maturityDays: { value: 1000, source: 'invented' },
      massGrams: { min: 900, max: 1800, source: 'Invented handbook 2001, p. 7' },
      lengthMillimetres: { max: 200, source: 'Invented handbook 2001, p. 8' },
    };
    await world.db.taxon.update({ where: { id: taxonId }, data: { profile } });
    const birth = (edtf: string) => ({ birth: { edtf, manner: 'hatched' } });
    const grown = await world.animal(keeper, taxonId, birth('2020-05-01'));
    const young = await world.animal(keeper, taxonId, birth('2026-05-01'));
    const warned = async (id: string, more: object) => (await record(id, { when: '2026-06-01', ...more })).warnings;
    expect(await warned(grown, grams(2000))).toEqual([
      { code: 'MEASUREMENT_ABOVE_TAXON', message: expect.stringContaining('Invented handbook 2001, p. 7') },
    ]);
    const light = await world.animal(keeper, taxonId, birth('2020-05-01'));
    expect((await warned(light, grams(500))).map(({ code }) => code)).toEqual(['MEASUREMENT_BELOW_TAXON']);
    expect(await warned(young, grams(30))).toEqual([]);
    const long = { measurement: { quantity: 'length', value: 0.25, unit: 'm', measure: 'plastron' } };
    expect(await warned(young, long)).toEqual([
      { code: 'MEASUREMENT_ABOVE_TAXON', message: expect.stringMatching(/250 mm.*plastron.*p\. 8/) },
    ]);
  });

  it('the reading of an enclosure is not a sighting of the animal, a reading of its body is', async () => {
    const id = await world.animal(keeper, await world.taxon());
    const warmth = (of: string | undefined) => ({
      measurement: { quantity: 'temperature', value: 29.5, unit: 'celsius', of },
    });
    expect((await record(id, { ...warmth('enclosure'), when: '2026-06-02' })).animal.lastSeenOn).toBeNull();
    expect((await record(id, { ...warmth(undefined), when: '2026-06-01' })).animal.lastSeenOn).toBe('2026-06-01');
    const shown = await test.get<Shown>(GROWTH, { id, quantity: 'temperature', of: 'enclosure' }, keeper.token);
    expect(shown.animal.growth?.points).toMatchObject([{ day: '2026-06-02', value: 29.5 }]);
  });

  it('names the field that does not fit', async () => {
    const length = { quantity: 'length', value: 84, unit: 'mm' };
    expect(await fields({ measurement: length })).toEqual(['input.measurement.measure']);
    expect(await fields({ measurement: { ...length, measure: 'tail', unit: 'kg' } })).toEqual([
      'input.measurement.unit',
    ]);
    expect(await fields({ ...grams(0) })).toEqual(['input.measurement']);
    expect(await fields({ ...grams(5), weightGrams: 5 })).toEqual(['input']);
    expect(await fields({ ...grams(5), when: '2999-01-01' })).toEqual(['input.when']);
    expect(await fields({ ...grams(5), when: { aboutDaysOld: -1, on: '2026-06-01' } })).toEqual([
      'input.when.aboutDaysOld',
    ]);
  });

  it('shows no measurements to who reads lineage only', async () => {
    const mate = await world.keeper('Beech House');
    await world.club(keeper, mate);
    const id = await world.animal(keeper, await world.taxon());
    await record(id, grams(42));
    const shown = await test.get<Shown>(GROWTH, { id, quantity: 'weight' }, mate.token);
    expect(shown.animal).toEqual({ growth: null, measurements: null });
  });
});
