import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RegistryWorld } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const ANIMAL = `query ($id: ID) { animal(id: $id) {
  id registerNumber kind viewerLevel sex birthYear originClass name fate count lastSeenOn
  birth { edtf earliest latest manner } taxon { scientificName } marks { kind value }
  weights { edges { node { grams edtf } } } notes { edges { node { topic text } } } holder { kind label keeperId }
  sire { id } dam { id } ancestors(generations: 6) { path shown animal { id } }
  inbreeding { value knownAncestry version population { id } } } }`;

type AnimalAnswer = {
  id: string;
  registerNumber: string;
  viewerLevel: string;
  sex: string;
  birthYear: number | null;
  name: string | null;
  fate: string | null;
  count: number | null;
  lastSeenOn: string | null;
  birth: { edtf: string; earliest: string | null; latest: string | null; manner: string } | null;
  marks: { kind: string; value: string }[] | null;
  weights: { edges: { node: { grams: number; edtf: string } }[] } | null;
  notes: { edges: { node: { topic: string; text: string } }[] } | null;
  holder: { kind: string; label: string; keeperId: string | null } | null;
  sire: { id: string } | null;
  dam: { id: string } | null;
  ancestors: { path: string; shown: boolean; animal: { id: string } | null }[];
  inbreeding: { value: number; knownAncestry: number; version: string; population: { id: string } };
};

describe('the registry through the API', () => {
  let test: TestApp;
  let world: RegistryWorld;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const read = async (id: string, token: string): Promise<AnimalAnswer> =>
    (await test.get<{ animal: AnimalAnswer }>(ANIMAL, { id }, token)).animal;

  it('shows the keeper the whole record with ancestors and F, and reads its own write', async () => {
    const keeper = await world.keeper('Alder House');
    const taxon = await world.taxon();
    const sire = await world.animal(keeper, taxon, { sex: 'male', founder: true });
    const dam = await world.animal(keeper, taxon, { sex: 'female', founder: true });
    const son = await world.animal(keeper, taxon, { sex: 'male', sireId: sire, damId: dam });
    const child = await world.animal(keeper, taxon, {
      name: 'Button',
      birth: { edtf: '2026-05~', manner: 'hatched' },
      sireId: son,
      damId: dam,
      marks: [{ kind: 'notch', value: 'left 3' }],
    });
    await test.get(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input: { animalId: child, weightGrams: 42.5, when: '2026-06-01' } },
      keeper.token,
    );
    const shown = await read(child, keeper.token);
    expect(shown).toMatchObject({
      viewerLevel: 'full',
      name: 'Button',
      birthYear: 2026,
      fate: 'alive',
      count: 1,
      lastSeenOn: '2026-06-01',
      birth: { edtf: '2026-05~', earliest: '2026-05-01', latest: '2026-05-31', manner: 'hatched' },
      marks: [{ kind: 'notch', value: 'left 3' }],
      weights: { edges: [{ node: { grams: 42.5, edtf: '2026-06-01' } }] },
      holder: { kind: 'keeper', label: 'Alder House', keeperId: keeper.keeperId },
      sire: { id: son },
      dam: { id: dam },
      // Son and mother: kinship 1/4 (Wright 1922).
      inbreeding: { value: 0.25, knownAncestry: 1, population: { id: taxon } },
    });
    expect(shown.registerNumber).toMatch(/^[3-9A-Y]{3}-[3-9A-Y]{3}-[3-9A-Y]{3}$/);
    expect(shown.ancestors.map((place) => [place.path, place.animal?.id])).toEqual([
      ['s', son],
      ['d', dam],
      ['ss', sire],
      ['sd', dam],
    ]);
    const before = shown.inbreeding.version;
    const next = await world.animal(keeper, taxon, { sireId: son, damId: dam });
    const after = await read(next, keeper.token);
    expect(after.inbreeding.value).toBe(0.25);
    expect(Number(after.inbreeding.version)).toBeGreaterThan(Number(before));
  });

  it('refuses a typing error in a register number before looking anything up', async () => {
    const keeper = await world.keeper('Beech House');
    const id = await world.animal(keeper, await world.taxon());
    const { registerNumber } = await read(id, keeper.token);
    const query = `query ($n: String) { animal(registerNumber: $n) { id } }`;
    expect(
      (
        await test.get<{ animal: { id: string } }>(
          query,
          { n: registerNumber.toLowerCase().replaceAll('-', ' ') },
          keeper.token,
        )
      ).animal.id,
    ).toBe(id);
    const last = registerNumber.slice(-1);
    const wrong = `${registerNumber.slice(0, -1)}${last === '3' ? '4' : '3'}`;
    const answer = await test.ask(query, { n: wrong }, keeper.token);
    expect(answer.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'registerNumber' }],
    });
  });

  it('says the same of an animal that is not visible and of one that does not exist', async () => {
    const keeper = await world.keeper('Cedar House');
    const stranger = await world.keeper('Far House');
    const id = await world.animal(keeper, await world.taxon());
    const { registerNumber } = await read(id, keeper.token);
    const hidden = await test.ask(ANIMAL, { id }, stranger.token);
    const absent = await test.ask(ANIMAL, { id: '01890000-0000-7000-8000-000000000000' }, stranger.token);
    const byNumber = await test.ask(
      `query ($n: String) { animal(registerNumber: $n) { id } }`,
      { n: registerNumber },
      stranger.token,
    );
    expect(hidden.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    expect(hidden.errors?.[0]?.message).toBe(absent.errors?.[0]?.message);
    expect(byNumber.errors?.[0]?.message).toBe(absent.errors?.[0]?.message);
  });

  it('shows a club-mate lineage and nothing else', async () => {
    const keeper = await world.keeper('Dogwood House');
    const mate = await world.keeper('Elder House');
    await world.club(keeper, mate);
    const hider = await world.keeper('Hidden House');
    const taxon = await world.taxon();
    const hiddenSire = await world.animal(hider, taxon, { sex: 'male' });
    const id = await world.animal(keeper, taxon, {
      name: 'Secret',
      sex: 'female',
      birth: { edtf: '2020-05-03', manner: 'hatched' },
    });
    await world.db.parentageClaim.create({
      data: {
        id: '01890000-0000-7000-8000-0000000000aa',
        childId: id,
        role: 'sire',
        basis: 'declared',
        recordedAt: new Date(),
        recordedBy: keeper.accountId,
        candidates: { create: [{ parentId: hiddenSire, probability: 1 }] },
      },
    });
    await test.get(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input: { animalId: id, note: { topic: 'care', text: 'shy' } } },
      keeper.token,
    );
    const shown = await read(id, mate.token);
    expect(shown).toMatchObject({
      viewerLevel: 'club',
      sex: 'female',
      birthYear: 2020,
      name: null,
      fate: null,
      count: null,
      lastSeenOn: null,
      birth: null,
      marks: null,
      weights: null,
      notes: null,
      holder: null,
      sire: null,
      ancestors: [{ path: 's', shown: false, animal: null }],
    });
    const answer = await test.ask(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input: { animalId: id, seen: true } },
      mate.token,
    );
    expect(answer.errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    await world.db.keeper.update({ where: { id: keeper.keeperId }, data: { holdingsShown: 'club' } });
    expect((await read(id, mate.token)).holder).toMatchObject({ label: 'Dogwood House' });
  });

  it('keeps private notes with the keeper who wrote them', async () => {
    const keeper = await world.keeper('Fir House');
    const id = await world.animal(keeper, await world.taxon());
    const note = (topic: string, text: string) =>
      test.get(
        `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
        { input: { animalId: id, note: { topic, text } } },
        keeper.token,
      );
    await note('private', 'do not tell');
    await note('care', 'likes dandelion');
    const other = await world.keeper('Gorse House');
    await world.db.animalAccess.create({
      data: {
        id: '01890000-0000-7000-8000-0000000000bb',
        animalId: id,
        keeperId: other.keeperId,
        relation: 'receiver',
        validFrom: new Date('2026-01-01'),
      },
    });
    const texts = (answer: AnimalAnswer) => answer.notes?.edges.map((edge) => edge.node.text);
    expect(texts(await read(id, keeper.token))).toEqual(['likes dandelion', 'do not tell']);
    const offered = await read(id, other.token);
    expect(offered.viewerLevel).toBe('offered');
    expect(texts(offered)).toEqual(['likes dandelion']);
    expect(offered.holder).toBeNull();
  });

  it('refuses a cycle with the path, a parent not yet born, a parent of the other sex, and itself', async () => {
    const keeper = await world.keeper('Hazel House');
    const taxon = await world.taxon();
    const old = await world.animal(keeper, taxon, {
      sex: 'male',
      founder: true,
      birth: { edtf: '2010', manner: 'hatched' },
    });
    const young = await world.animal(keeper, taxon, { sex: 'male', sireId: old });
    const youngest = await world.animal(keeper, taxon, {
      sireId: young,
      birth: { edtf: '2020-05-03', manner: 'hatched' },
    });
    const record = async (animalId: string, role: string, parentId: string) => {
      const answer = await test.ask(
        `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
        { input: { animalId, role, parentId, reason: 'test' } },
        keeper.token,
      );
      return answer.errors?.[0]?.extensions;
    };
    expect(await record(old, 'sire', old)).toMatchObject({ rule: 'LINEAGE_SELF_PARENT' });
    expect(await record(youngest, 'dam', old)).toMatchObject({ rule: 'LINEAGE_SEX_CONFLICT' });
    expect(await record(old, 'dam', youngest)).toMatchObject({ rule: 'LINEAGE_PARENT_NOT_YET_BORN' });
    const ring = await world.animal(keeper, taxon, {});
    expect(await record(ring, 'dam', youngest)).toBeUndefined();
    const undated = await world.animal(keeper, taxon, {});
    expect(await record(undated, 'sire', ring)).toBeUndefined();
    const cycle = await record(ring, 'sire', undated);
    expect(cycle?.rule).toBe('LINEAGE_CYCLE');
    expect(cycle?.blockers.map((blocker) => blocker.id)).toEqual([undated, ring]);
    const { inbreeding, sire } = await read(undated, keeper.token);
    expect(sire?.id).toBe(ring);
    // Half-known at each step: 1/2 · (1/2 · (1/2 · (1/2 · 1))).
    expect(inbreeding).toMatchObject({ value: 0, knownAncestry: 0.0625 });
  });

  it('warns of a test transponder and refuses one that cannot exist', async () => {
    const keeper = await world.keeper('Ivy House');
    const taxonId = await world.taxon();
    const register = (value: string) =>
      test.ask<{ registerAnimal: { warnings: { code: string }[]; animal: { marks: { value: string }[] } } }>(
        `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { warnings { code } animal { marks { value } } } }`,
        { input: { keeperId: keeper.keeperId, taxonId, marks: [{ kind: 'transponder', value }] } },
        keeper.token,
      );
    expect((await register('999 000000000001')).data?.registerAnimal).toEqual({
      warnings: [{ code: 'TEST_TRANSPONDER' }],
      animal: { marks: [{ value: '999000000000001' }] },
    });
    expect((await register('900 000000000001')).data?.registerAnimal.warnings).toEqual([
      { code: 'SHARED_MANUFACTURER_CODE' },
    ]);
    // 38 bits hold at most 274 877 906 943 (ISO 11784).
    const refused = await register('276 274877906944');
    expect(refused.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.marks.0.value' }],
    });
  });

  it('splits a lot, loses some of it, and balances the stock book', async () => {
    const keeper = await world.keeper('Juniper House');
    const taxon = await world.taxon();
    const sire = await world.animal(keeper, taxon, { sex: 'male', since: '2026-01-01' });
    const lot = await world.lot(keeper, taxon, 20, { since: '2026-03-01', arrivedBy: 'born', sireId: sire });
    const split = await test.get<{
      splitLot: { lot: { count: number }; newLot: { id: string; count: number; sire: { id: string } } };
    }>(
      `mutation ($input: SplitLotInput!) { splitLot(input: $input) { lot { count } newLot { id count sire { id } } } }`,
      { input: { lotId: lot, count: 8, on: '2026-04-01' } },
      keeper.token,
    );
    expect(split.splitLot).toMatchObject({ lot: { count: 12 }, newLot: { count: 8, sire: { id: sire } } });
    const die = (input: object) =>
      test.ask<{ recordDeath: { animal: { count: number; fate: string } } }>(
        `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { count fate } } }`,
        { input },
        keeper.token,
      );
    expect((await die({ animalId: lot, count: 2, on: '2026-04-10' })).data?.recordDeath.animal).toEqual({
      count: 10,
      fate: 'alive',
    });
    expect(
      (await die({ animalId: split.splitLot.newLot.id, count: 8, on: '2026-04-11' })).data?.recordDeath.animal,
    ).toEqual({ count: 0, fate: 'dead' });
    expect((await die({ animalId: lot, count: 11 })).errors?.[0]?.extensions.rule).toBe('LOT_TOO_SMALL');
    expect((await die({ animalId: sire, on: '2026-05-01' })).data?.recordDeath.animal).toEqual({
      count: 0,
      fate: 'dead',
    });
    expect((await die({ animalId: sire })).errors?.[0]?.extensions.rule).toBe('CUSTODY_NOT_OPEN');
    const { stockBook } = await test.get<{
      stockBook: {
        opening: number;
        arrived: number;
        departed: number;
        closing: number;
        unaccounted: number;
        departures: { edges: { node: { day: string; count: number; cause: string } }[] };
      };
    }>(
      `query ($k: ID!) { stockBook(keeperId: $k, from: "2026-03-01", asOf: "2026-12-31") { opening arrived departed closing unaccounted departures { edges { node { day count cause } } } } }`,
      { k: keeper.keeperId },
      keeper.token,
    );
    expect(stockBook).toEqual({
      opening: 1,
      arrived: 28,
      departed: 19,
      closing: 10,
      unaccounted: 0,
      departures: {
        edges: [
          { node: { day: '2026-04-01', count: 8, cause: 'split' } },
          { node: { day: '2026-04-10', count: 2, cause: 'died' } },
          { node: { day: '2026-04-11', count: 8, cause: 'died' } },
          { node: { day: '2026-05-01', count: 1, cause: 'died' } },
        ],
      },
    });
    const other = await world.keeper('Nosy House');
    expect(
      (
        await test.ask(
          `query ($k: ID!) { stockBook(keeperId: $k, from: "2026-03-01", asOf: "2026-12-31") { opening } }`,
          { k: keeper.keeperId },
          other.token,
        )
      ).errors?.[0]?.extensions.code,
    ).toBe('NOT_FOUND');
  });

  it('writes one ledger entry a write and no personal text into its body', async () => {
    const keeper = await world.keeper('Kingcup House');
    const id = await world.animal(keeper, await world.taxon(), { name: 'Verysecretname' });
    const entries = await world.db.ledgerEntry.findMany({ where: { subjects: { has: id } } });
    expect(entries.map((entry) => entry.action)).toEqual(['animal.registered']);
    expect(entries[0]?.body).not.toContain('Verysecretname');
  });
});
