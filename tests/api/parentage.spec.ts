import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const RECORD = `mutation ($input: RecordParentInput!) { recordParent(input: $input) {
  animal { id } warnings { code message source parentId } } }`;
const READ = `query ($id: ID) { animal(id: $id) { declaredFounder sire { id } dam { id }
  parentage { role basis withoutSire evidence reason when { edtf } candidates { probability shown animal { id } } }
  parentageHistory { edges { node { role supersededAt reason evidence candidates { animal { id } } } } } } }`;

type Claim = {
  role: string;
  basis: string;
  withoutSire: boolean;
  evidence: string | null;
  reason: string | null;
  when: { edtf: string } | null;
  candidates: { probability: number; shown: boolean; animal: { id: string } | null }[];
};
type Shown = {
  declaredFounder: boolean | null;
  sire: { id: string } | null;
  dam: { id: string } | null;
  parentage: Claim[];
  parentageHistory: {
    edges: {
      node: {
        role: string;
        supersededAt: string | null;
        reason: string | null;
        candidates: { animal: object | null }[];
      };
    }[];
  } | null;
};

/** Numbers for these tests only. */
const PROFILE = {
  spermStorageMaxDays: { value: 30, source: 'test, storage' },
  incubationDays: { max: 10, source: 'test, incubation' },
  maturityDays: { min: 100, source: 'test, maturity' },
};

describe('claims on parents', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let taxon: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Alder House');
    taxon = await world.taxon();
    await world.db.taxon.update({ where: { id: taxon }, data: { profile: PROFILE } });
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const born = (edtf: string) => ({ birth: { edtf, manner: 'hatched' } });
  const read = async (id: string, who = keeper): Promise<Shown> =>
    (await test.get<{ animal: Shown }>(READ, { id }, who.token)).animal;
  const record = async (input: object, who = keeper) =>
    test.ask<{ recordParent: { warnings: { code: string; source: string | null; parentId: string | null }[] } }>(
      RECORD,
      { input },
      who.token,
    );
  const warned = async (input: object): Promise<string[]> =>
    (await record(input)).data?.recordParent.warnings.map(({ code }) => code) ?? ['refused'];

  it('takes several candidates, shows them, and supersedes them by one with a reason', async () => {
    const [a, b] = [await world.animal(keeper, taxon, { sex: 'male' }), await world.animal(keeper, taxon)];
    const young = await world.animal(keeper, taxon);
    const candidates = [
      { parentId: a, probability: 0.25 },
      { parentId: b, probability: 0.75 },
    ];
    await record({
      animalId: young,
      role: 'sire',
      candidates,
      basis: 'shared_enclosure',
      evidence: 'both were in the tall enclosure',
      when: '2025-04~',
    });
    const shown = await read(young);
    expect(shown.sire).toBeNull();
    expect(shown.parentage).toEqual([
      {
        role: 'sire',
        basis: 'shared_enclosure',
        withoutSire: false,
        evidence: 'both were in the tall enclosure',
        reason: null,
        when: { edtf: '2025-04~' },
        candidates: [
          { probability: 0.75, shown: true, animal: { id: b } },
          { probability: 0.25, shown: true, animal: { id: a } },
        ],
      },
    ]);
    const needed = await record({ animalId: young, role: 'sire', parentId: a, basis: 'genetic_test' });
    expect(needed.errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'input.reason' }] });
    await record({ animalId: young, role: 'sire', parentId: a, basis: 'genetic_test', reason: 'the laboratory' });
    const after = await read(young);
    expect(after.sire).toEqual({ id: a });
    const history = after.parentageHistory?.edges.map(({ node }) => [node.reason, node.candidates.length]);
    expect(history).toEqual([
      [null, 1],
      ['the laboratory', 2],
    ]);
    await record({ animalId: young, role: 'sire', reason: 'not known after all' });
    expect(await read(young)).toMatchObject({ sire: null, parentage: [] });
  });

  it('a candidate that is not shown to the viewer stands without identity; evidence and history are not shared', async () => {
    const other = await world.keeper('Birch House');
    await world.club(keeper, other);
    const hidden = await world.keeper('Cedar House');
    const [mine, theirs] = [await world.animal(keeper, taxon), await world.animal(hidden, taxon)];
    const young = await world.animal(keeper, taxon);
    await record({
      animalId: young,
      role: 'dam',
      candidates: [
        { parentId: mine, probability: 0.5 },
        { parentId: await world.animal(keeper, taxon), probability: 0.5 },
      ],
      evidence: 'seen by the neighbour',
    });
    // A hidden candidate comes about when its keeper leaves the club; here the row is moved.
    await world.db.parentCandidate.updateMany({
      where: { claim: { childId: young }, parentId: { not: mine } },
      data: { parentId: theirs },
    });
    const [claim] = (await read(young, other)).parentage;
    expect(claim?.evidence).toBeNull();
    expect(claim?.candidates.filter(({ shown }) => !shown)).toEqual([{ probability: 0.5, shown: false, animal: null }]);
    expect(claim?.candidates.some(({ animal }) => animal?.id === mine)).toBe(true);
    expect((await read(young, other)).parentageHistory).toBeNull();
    expect((await record({ animalId: young, role: 'sire', parentId: theirs })).errors?.[0]?.extensions.code).toBe(
      'NOT_FOUND',
    );
  });

  it('refuses probabilities that do not sum to 1, and a cycle through one candidate, by field', async () => {
    const [a, b] = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
    const young = await world.animal(keeper, taxon, { sireId: b });
    const two = (first: number, second: number) => [
      { parentId: a, probability: first },
      { parentId: young, probability: second },
    ];
    const short = await record({ animalId: b, role: 'sire', candidates: two(0.5, 0.4) });
    expect(short.errors?.[0]?.extensions.fields).toEqual([
      {
        path: 'input.candidates',
        message: 'The probabilities sum to 0.9.',
        remedy: 'Change them so that they sum to 1.',
      },
    ]);
    const ring = await record({ animalId: b, role: 'sire', candidates: two(0.5, 0.5) });
    expect(ring.errors?.[0]?.extensions).toMatchObject({
      rule: 'LINEAGE_CYCLE',
      fields: [{ path: 'input.candidates.1.parentId' }],
      blockers: [{ id: young }, { id: b }],
    });
    // The other way round: b descends from a only perhaps, and that is enough.
    const perhaps = await world.animal(keeper, taxon, {
      sireCandidates: [
        { parentId: a, probability: 0.99 },
        { parentId: b, probability: 0.01 },
      ],
    });
    const back = await record({ animalId: b, role: 'dam', parentId: perhaps });
    expect(back.errors?.[0]?.extensions).toMatchObject({
      rule: 'LINEAGE_CYCLE',
      blockers: [{ id: perhaps }, { id: b }],
    });
  });

  it('a sire dead for too long is refused with numbers and source; open dates warn; a genetic test outweighs', async () => {
    const dead = await world.animal(keeper, taxon, { sex: 'male', ...born('2015'), since: '2016-01-01' });
    await test.get(
      `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }`,
      { input: { animalId: dead, on: '2025-03-01' } },
      keeper.token,
    );
    // 30 + 10 days after 1 March is 10 April.
    const [late, open] = [
      await world.animal(keeper, taxon, born('2025-04-11')),
      await world.animal(keeper, taxon, born('2025-04')),
    ];
    const refused = (await record({ animalId: late, role: 'sire', parentId: dead })).errors?.[0]?.extensions;
    expect(refused).toMatchObject({
      rule: 'LINEAGE_SIRE_DEAD_TOO_LONG',
      fields: [{ path: 'input.parentId' }],
      blockers: [{ kind: 'animal', id: dead }],
    });
    expect(refused?.fields[0]?.message).toContain('30 days of sperm storage and 10 of incubation');
    expect(await warned({ animalId: open, role: 'sire', parentId: dead })).toEqual(['SIRE_MAY_BE_DEAD_TOO_LONG']);
    const intime = await world.animal(keeper, taxon, born('2025-04-10'));
    expect(await warned({ animalId: intime, role: 'sire', parentId: dead })).toEqual([]);
    const tested = await record({ animalId: late, role: 'sire', parentId: dead, basis: 'genetic_test' });
    expect(tested.data?.recordParent.warnings).toMatchObject([
      { code: 'SIRE_DEAD_TOO_LONG', source: 'test, storage; test, incubation', parentId: dead },
    ]);
    // A registration says the same, of the field it has.
    const registered = await test.ask(
      `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { animal { id } } }`,
      { input: { keeperId: keeper.keeperId, taxonId: taxon, sireId: dead, ...born('2025-04-11') } },
      keeper.token,
    );
    expect(registered.errors?.[0]?.extensions).toMatchObject({
      rule: 'LINEAGE_SIRE_DEAD_TOO_LONG',
      fields: [{ path: 'input.sireId' }],
    });
  });

  it('warns of parents too young or of open age, and refuses only what is certain', async () => {
    const old = await world.animal(keeper, taxon, born('2024-01-01'));
    const young = await world.animal(keeper, taxon, born('2024-02-01'));
    expect(await warned({ animalId: young, role: 'dam', parentId: old })).toEqual(['PARENT_YOUNG']);
    const vague = await world.animal(keeper, taxon, born('2024'));
    expect(await warned({ animalId: young, role: 'sire', parentId: vague })).toEqual([
      'PARENT_AGE_OPEN',
      'PARENT_YOUNG',
    ]);
    const same = await record({ animalId: old, role: 'dam', parentId: young });
    expect(same.errors?.[0]?.extensions.rule).toBe('LINEAGE_PARENT_NOT_YET_BORN');
    const both = await record({ animalId: young, role: 'sire', parentId: old, reason: 'a slip' });
    expect(both.errors?.[0]?.extensions.rule).toBe('LINEAGE_SIRE_IS_DAM');
  });

  it('development without a sire is recorded only where the profile of the taxon knows of it', async () => {
    const young = await world.animal(keeper, taxon);
    const refused = await record({ animalId: young, role: 'sire', withoutSire: true });
    expect(refused.errors?.[0]?.extensions.rule).toBe('LINEAGE_NO_PARTHENOGENESIS');
    const other = await world.taxon();
    const parthenogenesis = { value: 'facultative', source: 'test, a published case' };
    await world.db.taxon.update({ where: { id: other }, data: { profile: { parthenogenesis } } });
    const dam = await world.animal(keeper, other, { sex: 'female' });
    const lone = await world.animal(keeper, other, { damId: dam });
    const done = await record({ animalId: lone, role: 'sire', withoutSire: true });
    expect(done.data?.recordParent.warnings).toMatchObject([
      { code: 'WITHOUT_SIRE', source: 'test, a published case', parentId: null },
    ]);
    const shown = await read(lone);
    expect(shown.sire).toBeNull();
    expect(shown.parentage.map(({ role, withoutSire, candidates }) => [role, withoutSire, candidates.length])).toEqual([
      ['sire', true, 0],
      ['dam', false, 1],
    ]);
    const registered = await world.animal(keeper, other, { damId: dam, withoutSire: true });
    expect((await read(registered)).parentage[0]).toMatchObject({ role: 'sire', withoutSire: true });
  });

  it('a founder is declared, implied by a wild origin, refused beside parents, and taken back', async () => {
    const wild = await world.animal(keeper, taxon, { originClass: 'wild' });
    const founder = await world.animal(keeper, taxon, { founder: true });
    const plain = await world.animal(keeper, taxon);
    const young = await world.animal(keeper, taxon, { sireId: founder });
    for (const [id, expected] of [
      [wild, true],
      [founder, true],
      [plain, false],
      [young, false],
    ] as const)
      expect((await read(id)).declaredFounder).toBe(expected);
    const both = await test.ask(
      `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { animal { id } } }`,
      { input: { keeperId: keeper.keeperId, taxonId: taxon, founder: true, sireId: founder } },
      keeper.token,
    );
    expect(both.errors?.[0]?.extensions).toMatchObject({
      rule: 'LINEAGE_FOUNDER_HAS_PARENTS',
      fields: [{ path: 'input.founder' }],
    });
    const declare = (animalId: string, value: boolean, who = keeper) =>
      test.ask<{ declareFounder: { animal: { declaredFounder: boolean } } }>(
        `mutation ($input: DeclareFounderInput!) { declareFounder(input: $input) { animal { declaredFounder } } }`,
        { input: { animalId, founder: value, reason: 'as the papers say' } },
        who.token,
      );
    expect((await declare(young, true)).errors?.[0]?.extensions.rule).toBe('LINEAGE_FOUNDER_HAS_PARENTS');
    const version = async () =>
      (await world.db.lineagePopulation.findUniqueOrThrow({ where: { taxonId: taxon } })).version;
    const before = await version();
    expect((await declare(plain, true)).data?.declareFounder.animal.declaredFounder).toBe(true);
    expect(await version()).toBe(before + 1n);
    expect((await declare(founder, false)).data?.declareFounder.animal.declaredFounder).toBe(false);
    const stranger = await world.keeper('Dogwood House');
    expect((await declare(plain, false, stranger)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });

  it('writes one ledger entry with ids, days and probabilities, and no text of people', async () => {
    const [a, b, young] = [
      await world.animal(keeper, taxon),
      await world.animal(keeper, taxon),
      await world.animal(keeper, taxon),
    ];
    const candidates = [
      { parentId: a, probability: 0.4 },
      { parentId: b, probability: 0.6 },
    ];
    await record({ animalId: young, role: 'dam', candidates, evidence: 'the neighbour says so' });
    const entries = await world.db.ledgerEntry.findMany({
      where: { action: 'lineage.parent-recorded', subjects: { has: young } },
    });
    expect(entries.map((entry) => [entry.schemaVersion, entry.subjects])).toEqual([[2, [young, a, b]]]);
    expect(JSON.parse(entries[0]?.body ?? '')).toMatchObject({ candidates, withoutSire: false, basis: 'declared' });
    expect(entries[0]?.body).not.toContain('neighbour');
  });
});
