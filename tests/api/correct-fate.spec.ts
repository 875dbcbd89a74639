import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let owner: TestKeeper;
let animalId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
});
beforeEach(async () => {
  test.setDay('2026-06-20');
  owner = await world.keeper('An owner');
  animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

type Shown = { fate: string; fateEdtf: string | null; holder: { kind: string; keeperId: string | null } };

const type = (name: string) => `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;

async function change(name: string, input: object): Promise<Shown> {
  const answer = await test.get<Record<string, { animal: Shown }>>(
    `mutation ($input: ${type(name)}!) { ${name}(input: $input) { animal { fate fateEdtf holder { kind keeperId } } } }`,
    { input: { animalId, ...input } },
    owner.token,
  );
  return (answer[name] as { animal: Shown }).animal;
}

async function refusal(input: object, who = owner) {
  const { errors } = await test.ask(
    `mutation ($input: CorrectFateInput!) { correctFate(input: $input) { __typename } }`,
    { input: { animalId, reason: 'a slip', ...input } },
    who.token,
  );
  return errors?.[0]?.extensions ?? null;
}

async function book() {
  const { stockBook } = await test.get<{
    stockBook: Record<'arrivals' | 'departures', { edges: { node: { day: string; cause: string } }[] }> & {
      closing: number;
      unaccounted: number;
    };
  }>(
    `query ($k: ID!) { stockBook(keeperId: $k, from: "2026-05-01", asOf: "2026-06-30") { closing unaccounted
       arrivals { edges { node { day cause } } } departures { edges { node { day cause } } } } }`,
    { k: owner.keeperId },
    owner.token,
  );
  const lines = (side: 'arrivals' | 'departures') =>
    stockBook[side].edges.map(({ node }) => `${node.day} ${node.cause}`);
  const { closing, unaccounted } = stockBook;
  return { closing, unaccounted, arrivals: lines('arrivals'), departures: lines('departures') };
}

const HOME = () => ({ kind: 'keeper', keeperId: owner.keeperId });

describe('correcting what became of an animal', () => {
  it.each(['2026-06-01', '2026-06-15'])(
    'moves the day it left the stock to %s, and shows both versions',
    async (when) => {
      await change('recordFate', { fate: 'missing', when: '2026-06-08', cause: 'door open' });
      const corrected = await change('correctFate', { reason: 'misread the sheet', when, certainty: 'likely' });
      expect(corrected).toEqual({ fate: 'missing', fateEdtf: when, holder: { kind: 'unknown', keeperId: null } });
      expect(await book()).toEqual({ closing: 0, unaccounted: 0, arrivals: [], departures: [`${when} missing`] });
      const { animal } = await test.get<{ animal: { factHistory: { edges: { node: object }[] } } }>(
        `query ($id: ID) { animal(id: $id) { factHistory { edges { node { kind edtf supersededBecause: reason } } } } }`,
        { id: animalId },
        owner.token,
      );
      const fates = animal.factHistory.edges
        .map(({ node }) => node)
        .filter((node) => 'kind' in node && node.kind === 'fate');
      expect(fates).toEqual([
        { kind: 'fate', edtf: when, supersededBecause: null },
        { kind: 'fate', edtf: '2026-06-08', supersededBecause: 'misread the sheet' },
      ]);
      const facts = await world.db.animalFact.findMany({ where: { animalId, kind: 'fate', supersededAt: null } });
      expect(facts.map(({ body }) => body)).toEqual([{ fate: 'missing', cause: 'door open', certainty: 'likely' }]);
      // Found on a day that the first version would not have allowed.
      await change('recordFate', { fate: 'found', when });
      expect(await book()).toMatchObject({ closing: 1, unaccounted: 0 });
    },
  );

  it('corrects the cause alone and leaves the book', async () => {
    await change('recordFate', { fate: 'escaped', when: '2026-06-08', cause: 'door open' });
    await change('correctFate', { reason: 'it was the window', cause: null });
    expect(await book()).toMatchObject({ departures: ['2026-06-08 escaped'] });
    const [fact] = await world.db.animalFact.findMany({ where: { animalId, kind: 'fate', supersededAt: null } });
    expect(fact?.body).toEqual({ fate: 'escaped' });
  });

  it('takes it back: the animal was there all along', async () => {
    await change('recordFate', { fate: 'seized', when: '2026-06-08' });
    expect(await book()).toMatchObject({ departures: ['2026-06-08 seized'], closing: 0 });
    const back = await change('correctFate', { reason: 'another animal', takeBack: true });
    expect(back).toEqual({ fate: 'alive', fateEdtf: null, holder: HOME() });
    expect(await book()).toEqual({ closing: 1, unaccounted: 0, arrivals: [], departures: [] });
    const rows = await world.db.custody.findMany({ where: { animalId, supersededAt: null } });
    expect(rows).toHaveLength(1);
    expect(await refusal({ takeBack: true })).toMatchObject({ rule: 'FATE_NOT_GONE' });
  });

  it('taken back one after the other, each restores what was before, also what was restored itself', async () => {
    await change('recordFate', { fate: 'missing', when: '2026-06-05' });
    await change('recordFate', { fate: 'stolen', when: '2026-06-08' });
    const missing = await change('correctFate', { reason: 'no theft', takeBack: true });
    expect(missing).toEqual({ fate: 'missing', fateEdtf: '2026-06-05', holder: { kind: 'unknown', keeperId: null } });
    expect(await world.db.theftReport.count({ where: { animalId, closedAt: null } })).toBe(0);
    expect(await book()).toMatchObject({ departures: ['2026-06-05 missing'], unaccounted: 0 });
    const alive = await change('correctFate', { reason: 'behind the cork', takeBack: true });
    expect(alive).toEqual({ fate: 'alive', fateEdtf: null, holder: HOME() });
    expect(await book()).toEqual({ closing: 1, unaccounted: 0, arrivals: [], departures: [] });
  });

  it('corrects a whole lot too', async () => {
    animalId = await world.lot(owner, taxon, 6, { since: '2026-01-01' });
    await change('recordFate', { fate: 'escaped', when: '2026-06-08' });
    await change('correctFate', { reason: 'a slip', when: '2026-06-10' });
    expect(await book()).toMatchObject({ closing: 1, unaccounted: 0, departures: ['2026-06-10 escaped'] });
    await change('correctFate', { reason: 'a slip', takeBack: true });
    expect(await book()).toMatchObject({ closing: 7, unaccounted: 0, departures: [] });
  });

  it('is refused for days that cannot be, and is nobody else’s', async () => {
    expect(await refusal({ cause: 'x' })).toMatchObject({ rule: 'FATE_NOT_GONE' });
    await change('recordFate', { fate: 'missing', when: '2026-06-08' });
    expect(await refusal({})).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'input.takeBack' }] });
    expect(await refusal({ takeBack: true, cause: 'x' })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await refusal({ when: '2026-06-21' })).toMatchObject({ rule: 'DAY_IN_FUTURE' });
    expect(await refusal({ when: '2025-12-31' })).toMatchObject({ rule: 'CUSTODY_DAY_TOO_EARLY' });
    const stranger = await world.keeper('A stranger');
    const hidden = await refusal({ takeBack: true }, stranger);
    expect(hidden).toMatchObject({ code: 'NOT_FOUND' });
    expect(await book()).toMatchObject({ departures: ['2026-06-08 missing'] });
  });
});
