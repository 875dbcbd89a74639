import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { BreedingWorld, codes, SINGLE_EGG } from '../support/breeding-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
let keeper: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  breeding = new BreedingWorld(server, world);
  keeper = await world.keeper('Juniper');
  stranger = await world.keeper('Quillon');
  taxonId = await breeding.taxon();
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});
beforeEach(() => server.setDay('2026-06-10'));

const grown = { birth: { edtf: '2020', manner: 'hatched' } };
const dam = (more: object = {}) => world.animal(keeper, taxonId, { sex: 'female', ...grown, ...more });
const clutchOf = async (damId: string, more: object = {}) =>
  (await breeding.do(keeper, 'recordClutch', { damId, laid: '2026-04-01', eggCount: 1, ...more })).clutch.id;

type Claim = { role: string; basis: string; candidates: { parentId: string; probability: number }[] };
async function claimsOf(animalId: string): Promise<Claim[]> {
  const rows = await world.db.parentageClaim.findMany({
    where: { childId: animalId, supersededAt: null },
    include: { candidates: { orderBy: { probability: 'desc' } } },
    orderBy: { role: 'asc' },
  });
  return rows.map(({ role, basis, candidates }) => ({
    role,
    basis,
    candidates: candidates.map(({ parentId, probability }) => ({ parentId, probability: probability.toNumber() })),
  }));
}

type Clutch = {
  kind: string;
  eggCount: number | null;
  laid: { edtf: string } | null;
  foundOn: string | null;
  enclosure: { name: string } | null;
  dams: { probability: number; animal: { id: string } | null }[];
  eggs: {
    edges: {
      node: {
        number: number;
        state: string;
        place: { enclosure: { name: string } | null; incubator: string | null; celsius: number | null } | null;
        events: { edges: { node: { id: string; kind: string } }[] };
        young: { id: string }[];
      };
    }[];
  };
  hatchings: { edges: { node: { eggNumber: number | null; animal: { id: string } | null } }[] };
  hatchForecast: { earliest: string; latest: string; basis: string; source: string } | null;
};
const CLUTCH = `query ($id: ID!) { clutch(id: $id) { kind eggCount laid { edtf } foundOn enclosure { name } dams { probability animal { id } }
  eggs { edges { node { number state place { enclosure { name } incubator celsius } events { edges { node { id kind } } } young { id } } } }
  hatchings { edges { node { eggNumber animal { id } } } } hatchForecast { earliest latest basis source } } }`;
const readClutch = async (id: string, by = keeper): Promise<Clutch> =>
  (await server.get<{ clutch: Clutch }>(CLUTCH, { id }, by.token)).clutch;
const eggsOf = async (id: string) => (await readClutch(id)).eggs.edges.map(({ node }) => node);

describe('clutches of a layer of one egg every 75 to 95 days (common practice, no published source)', () => {
  it('two eggs 30 days apart warn with bound and source, 80 days apart do not, and nothing is refused', async () => {
    const layer = await dam();
    const first = await breeding.do(keeper, 'recordClutch', { damId: layer, laid: '2026-01-05', eggCount: 1 });
    expect(first.warnings).toEqual([]);
    const later = await breeding.do(keeper, 'recordClutch', { damId: layer, laid: '2026-03-26', eggCount: 1 });
    expect(later.warnings).toEqual([]);
    const early = await breeding.do(keeper, 'recordClutch', { damId: layer, laid: '2026-04-25', eggCount: 1 });
    expect(codes(early)).toEqual(['CLUTCH_INTERVAL_SHORT']);
    expect(early.warnings[0]?.message).toContain('common practice, no published source');
  });

  it('a clutch of two warns, and so does a dam surely too young', async () => {
    const young = await dam({ birth: { edtf: '2025-12-01', manner: 'hatched' } });
    const made = await breeding.do(keeper, 'recordClutch', { damId: young, laid: '2026-04-01', eggCount: 2 });
    expect(codes(made)).toEqual(['CLUTCH_TOO_LARGE', 'PARENT_TOO_YOUNG']);
  });

  it('a recorded male that lays is told to correct the sex, and is not refused', async () => {
    const male = await world.animal(keeper, taxonId, { sex: 'male', ...grown });
    const made = await breeding.do(keeper, 'recordClutch', { damId: male, laid: '2026-04-01' });
    expect(codes(made)).toEqual(['LAYS_BUT_RECORDED_MALE']);
    const hatched = await breeding.do(keeper, 'recordHatchlings', {
      clutchId: made.clutch.id,
      when: '2026-05-30',
      young: [{}],
    });
    expect(codes(hatched)).toContain('LAYS_BUT_RECORDED_MALE');
    expect(await claimsOf(hatched.young[0]?.id ?? '')).toMatchObject([
      { role: 'dam', candidates: [{ parentId: male }] },
    ]);
  });

  it('what is certain is refused: days to come, and finding before laying', async () => {
    const damId = await dam();
    const refused = async (more: object) => (await breeding.refused(keeper, 'recordClutch', { damId, ...more })).rule;
    expect(await refused({ laid: '2026-06-11' })).toBe('DAY_IN_FUTURE');
    expect(await refused({ laid: '2026-05-01', foundOn: '2026-04-30' })).toBe('CLUTCH_FOUND_BEFORE_LAID');
    expect((await breeding.refused(keeper, 'recordClutch', { laid: '2026-05-01' })).fields[0]?.path).toBe(
      'input.damId',
    );
  });

  it('days can be said as a keeper says them', async () => {
    const found = await clutchOf(await dam(), { laid: { foundOn: '2026-05-03', atMostDaysBefore: 9 } });
    expect((await readClutch(found)).laid?.edtf).toBe('2026-04-24/2026-05-03');
    const age = await clutchOf(await dam(), { laid: { aboutDaysOld: 20, on: '2026-05-03' } });
    expect((await readClutch(age)).laid?.edtf).toBe('2026-04-13~');
    const wrong = { damId: await dam(), laid: { aboutDaysOld: -3, on: '2026-05-03' } };
    expect((await breeding.refused(keeper, 'recordClutch', wrong)).fields[0]?.path).toBe('input.laid.aboutDaysOld');
  });
});

describe('a clutch that is recorded twice', () => {
  it('is refused with the first one named; merging adds what it lacked; another one is recorded as such', async () => {
    const damId = await dam();
    const first = await clutchOf(damId, { laid: '2026-04', eggCount: null });
    const again = { damId, laid: '2026-04-10', eggCount: 1, foundOn: '2026-04-12' };
    const { rule, blockers } = await breeding.refused(keeper, 'recordClutch', again);
    expect({ rule, ids: blockers.map(({ id }) => id) }).toEqual({ rule: 'CLUTCH_PROBABLY_RECORDED', ids: [first] });
    const merged = await breeding.do(keeper, 'recordClutch', { ...again, mergeInto: first });
    for (const id of [first, merged.clutch.id])
      expect(await readClutch(id)).toMatchObject({ eggCount: 1, laid: { edtf: '2026-04-10' }, foundOn: '2026-04-12' });
    const other = await breeding.do(keeper, 'recordClutch', { ...again, separateClutch: true });
    expect(codes(other)).toEqual(['CLUTCH_INTERVAL_SHORT']);
    expect(await world.db.clutch.count({ where: { damId, supersededAt: null } })).toBe(2);
  });

  it('whose days do not touch is recorded', async () => {
    const damId = await dam();
    await clutchOf(damId, { laid: '2026-01-01/2026-01-05' });
    await clutchOf(damId, { laid: '2026-04-01/2026-04-05' });
    expect(await world.db.clutch.count({ where: { damId } })).toBe(2);
  });
});

describe('eggs one by one', () => {
  const roomy = { ...SINGLE_EGG, clutchSizeMax: { value: 5, source: 'invented' } };
  let eggTaxon: string;
  beforeAll(async () => {
    eggTaxon = await breeding.taxon(roomy);
  });
  const clutch = async () =>
    clutchOf(await world.animal(keeper, eggTaxon, { sex: 'female', ...grown }), { eggCount: 3, laid: '2026-04-01' });
  const record = (clutchId: string, more: object) => breeding.do(keeper, 'recordEggEvents', { clutchId, ...more });

  it('live by their events, in whatever order these are recorded; places and temperatures stand where they are', async () => {
    const clutchId = await clutch();
    await record(clutchId, { eggs: [2], kind: 'failed', when: '2026-05-10' });
    const hot = await record(clutchId, { kind: 'incubated', when: '2026-04-02', incubator: 'North', celsius: 33.5 });
    expect(codes(hot)).toEqual(['INCUBATION_TEMPERATURE_UNUSUAL']);
    await record(clutchId, { eggs: [1, 3], kind: 'candled', when: '2026-04-20', candling: 'fertile' });
    await record(clutchId, { eggs: [3], kind: 'left_with_parents', when: '2026-04-21' });
    expect((await eggsOf(clutchId)).map(({ number, state }) => [number, state])).toEqual([
      [1, 'incubated'],
      [2, 'failed'],
      [3, 'with_parents'],
    ]);
    expect((await eggsOf(clutchId))[0]?.place).toEqual({ enclosure: null, incubator: 'North', celsius: 33.5 });
  });

  it('refuse what cannot follow, with the event that is in the way; a correction clears it', async () => {
    const clutchId = await clutch();
    await record(clutchId, { eggs: [1], kind: 'failed', when: '2026-05-10' });
    const late = { clutchId, eggs: [1], kind: 'candled', candling: 'fertile', when: '2026-05-11' };
    expect((await breeding.refused(keeper, 'recordEggEvents', late)).rule).toBe('EGG_EVENT_OUT_OF_ORDER');
    const eventId = (await eggsOf(clutchId))[0]?.events.edges[0]?.node.id;
    await breeding.do(keeper, 'correctEggEvent', { eventId, takeBack: true, reason: 'It was the one beside it.' });
    await record(clutchId, late);
    expect((await eggsOf(clutchId))[0]?.state).toBe('laid');
    expect(await world.db.eggEvent.count({ where: { id: eventId ?? '', supersededAt: { not: null } } })).toBe(1);
  });

  it.each([
    [{ eggs: [1], kind: 'failed', when: '2026-03-31' }, 'EGG_EVENT_BEFORE_LAID'],
    [{ eggs: [4], kind: 'failed' }, 'EGG_NUMBER_TOO_HIGH'],
    [{ eggs: [1], kind: 'failed', when: '2026-06-11' }, 'DAY_IN_FUTURE'],
    [{ eggs: [1], kind: 'candled' }, undefined],
    [{ eggs: [1], kind: 'failed', candling: 'clear' }, undefined],
    [{ eggs: [0], kind: 'failed' }, undefined],
  ])('refuse %j', async (more, rule) => {
    const refused = await breeding.refused(keeper, 'recordEggEvents', { clutchId: await clutch(), ...more });
    expect(refused.rule).toBe(rule);
    if (rule === undefined) expect(refused.code).toBe('INVALID_INPUT');
  });

  it('one young is usual, two warn as twins, three are refused with nothing written', async () => {
    const clutchId = await clutch();
    const hatch = { clutchId, when: '2026-05-30' };
    const twins = await breeding.do(keeper, 'recordHatchlings', {
      ...hatch,
      young: [{ eggNumber: 1 }, { eggNumber: 1 }, { eggNumber: 2 }],
    });
    expect(codes(twins)).toContain('TWINS');
    const before = await world.db.animal.count();
    const third = { ...hatch, young: [{ eggNumber: 3 }, { eggNumber: 1 }] };
    expect((await breeding.refused(keeper, 'recordHatchlings', third)).rule).toBe('EGG_THREE_YOUNG');
    expect(await world.db.animal.count()).toBe(before);
    expect((await eggsOf(clutchId)).map(({ state, young }) => [state, young.length])).toEqual([
      ['hatched', 2],
      ['hatched', 1],
      ['laid', 0],
    ]);
  });

  it('a hatching taken back lets the egg go on: it fails, or hatches after all; of twins only with the last one', async () => {
    const clutchId = await clutch();
    const hatched = await breeding.do(keeper, 'recordHatchlings', {
      clutchId,
      when: '2026-05-30',
      young: [{ eggNumber: 1 }, { eggNumber: 1 }, { eggNumber: 2 }],
    });
    const ids = hatched.young.map(({ id }) => id);
    const hatchingOf = async (animalId = '') =>
      (await world.db.hatching.findFirstOrThrow({ where: { animalId, supersededAt: null } })).id;
    const takeBack = async (animalId?: string) =>
      breeding.do(keeper, 'correctBreedingFact', {
        kind: 'hatching',
        factId: await hatchingOf(animalId),
        takeBack: true,
        reason: 'It came out of another clutch.',
      });
    const states = async () => (await eggsOf(clutchId)).map(({ state, young }) => [state, young.length]);
    await takeBack(ids[0]);
    expect(await states()).toEqual([
      ['hatched', 1],
      ['hatched', 1],
      ['laid', 0],
    ]);
    await takeBack(ids[1]);
    await takeBack(ids[2]);
    expect(await states()).toEqual([
      ['laid', 0],
      ['laid', 0],
      ['laid', 0],
    ]);
    await breeding.do(keeper, 'recordEggEvents', { clutchId, eggs: [1], kind: 'failed', when: '2026-06-02' });
    const again = { clutchId, animalId: ids[2], eggNumber: 2, when: '2026-06-03' };
    await breeding.do(keeper, 'recordHatching', again);
    expect(await states()).toEqual([
      ['failed', 0],
      ['hatched', 1],
      ['laid', 0],
    ]);
    const events = await world.db.eggEvent.findMany({ where: { clutchId, kind: 'hatched' }, orderBy: { id: 'asc' } });
    expect(events.map(({ reason }) => reason)).toEqual([
      'It came out of another clutch.',
      'It came out of another clutch.',
      null,
    ]);
    const entry = await world.db.ledgerEntry.findFirstOrThrow({
      where: { action: 'breeding.fact-corrected', subjects: { has: ids[2] ?? '' } },
    });
    expect(JSON.parse(entry.body)).toMatchObject({ eggEvent: { eventId: events[1]?.id, replacedBy: null } });
  });

  it('the day of a hatching put right is put right of its egg; what was said of the egg by itself stays', async () => {
    const clutchId = await clutch();
    server.setDay('2026-06-01');
    await breeding.do(keeper, 'recordEggEvents', { clutchId, eggs: [2], kind: 'hatched', when: '2026-05-29' });
    server.setDay('2026-06-10');
    const { young } = await breeding.do(keeper, 'recordHatchlings', {
      clutchId,
      when: '2026-05-30',
      young: [{ eggNumber: 1 }, { eggNumber: 2 }],
    });
    const correct = async (animalId: string, change: object) => {
      const { id: factId } = await world.db.hatching.findFirstOrThrow({ where: { animalId, supersededAt: null } });
      const input = { kind: 'hatching', factId, reason: 'The notebook says otherwise.', ...change };
      return breeding.send(keeper, 'correctBreedingFact', input);
    };
    const days = async () =>
      (
        await world.db.eggEvent.findMany({
          where: { clutchId, kind: 'hatched', supersededAt: null },
          include: { egg: true },
        })
      )
        .map(({ egg, edtf }) => [egg?.number, edtf])
        .toSorted();
    for (const { id } of young) await correct(id, { when: '2026-05-31' });
    expect(await days()).toEqual([
      [1, '2026-05-31'],
      [2, '2026-05-29'],
    ]);
    for (const { id } of young) await correct(id, { takeBack: true });
    expect(await days()).toEqual([[2, '2026-05-29']]);
  });

  it('a stranger reads and writes nothing of them', async () => {
    const clutchId = await clutch();
    expect((await breeding.refused(stranger, 'recordEggEvents', { clutchId, kind: 'failed' })).code).toBe('NOT_FOUND');
    const { errors } = await server.ask(CLUTCH, { id: clutchId }, stranger.token);
    expect(errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    const unknown = await server.ask(CLUTCH, { id: '00000000-0000-7000-8000-000000000000' }, stranger.token);
    expect(unknown.errors?.[0]?.message).toBe(errors?.[0]?.message);
  });
});

describe('young in one act', () => {
  it('are registered with names, holder, owner, hatching, enclosure and the only sire who lived with the dam', async () => {
    const enclosureId = await breeding.enclosure(keeper, 'Fern house');
    const { dam: damId, sire } = await breeding.pair(keeper, taxonId, enclosureId);
    const clutchId = await clutchOf(damId, { enclosureId, controlled: 'yes' });
    const input = {
      clutchId,
      when: '2026-05-30',
      enclosureId,
      originClass: 'bred',
      young: [{ name: 'Pip', eggNumber: 1, marks: [{ kind: 'own_number', value: 'J-1' }] }],
    };
    const headers = { 'idempotency-key': 'one-hatching' };
    const made = await breeding.do(keeper, 'recordHatchlings', input, headers);
    expect(made.warnings).toEqual([]);
    const [young] = made.young;
    expect(await claimsOf(young?.id ?? '')).toEqual([
      { role: 'sire', basis: 'shared_enclosure', candidates: [{ parentId: sire, probability: 1 }] },
      { role: 'dam', basis: 'observed', candidates: [{ parentId: damId, probability: 1 }] },
    ]);
    const animal = await world.db.animal.findUniqueOrThrow({
      where: { id: young?.id ?? '' },
      include: { hatchings: true, placements: true, custody: true, marks: true },
    });
    expect(animal).toMatchObject({
      name: 'Pip',
      originClass: 'bred',
      birthEdtf: '2026-05-30',
      marks: [{ value: 'J-1' }],
      placements: [{ enclosureId }],
      custody: [{ keeperId: keeper.keeperId, arrivedBy: 'born' }],
    });
    expect(animal.hatchings).toHaveLength(1);
    const again = await breeding.do(keeper, 'recordHatchlings', input, headers);
    expect(again.young).toEqual(made.young);
    expect(await world.db.hatching.count({ where: { clutch: { originalId: clutchId } } })).toBe(1);
  });

  it('have several sires with probabilities where several lived with her in time, and nobody who never did', async () => {
    const enclosureId = await breeding.enclosure(keeper, 'Long bench');
    const elsewhere = await breeding.enclosure(keeper, 'Back room');
    const { dam: damId, sire } = await breeding.pair(keeper, taxonId, enclosureId);
    server.setDay('2026-01-01');
    const [second, never, late] = [
      await world.animal(keeper, taxonId, { sex: 'male', ...grown }),
      await world.animal(keeper, taxonId, { sex: 'male', ...grown }),
      await world.animal(keeper, taxonId, { sex: 'male', ...grown }),
    ];
    server.setDay('2026-06-10');
    const put = (where: string, animalId: string, from: string, until?: string) =>
      breeding.do(keeper, 'placeAnimals', { enclosureId: where, animalIds: [animalId], from, until });
    await put(enclosureId, second, '2026-02-01', '2026-02-11');
    await put(elsewhere, never, '2026-01-01');
    await put(enclosureId, late, '2026-03-25');
    const clutchId = await clutchOf(damId);
    const PROPOSAL = `query ($id: ID!, $w: SireWeighing) { parentProposal(clutchId: $id, weighing: $w) {
      sires { probability sharedDays animal { id } } sireBasis windowFrom windowUntil warnings { code } } }`;
    type Proposal = { sires: { probability: number; sharedDays: number; animal: { id: string } }[] };
    const propose = async (w: string | null) =>
      (await server.get<{ parentProposal: Proposal }>(PROPOSAL, { id: clutchId, w }, keeper.token)).parentProposal;
    expect(await propose(null)).toMatchObject({
      sireBasis: 'shared_enclosure',
      windowFrom: '2025-12-22',
      windowUntil: '2026-03-22',
      warnings: [],
    });
    const equal = (await propose(null)).sires;
    expect(new Set(equal.map(({ animal }) => animal.id))).toEqual(new Set([sire, second]));
    expect(equal.map(({ probability }) => probability)).toEqual([0.5, 0.5]);
    expect((await propose('shared_days')).sires).toMatchObject([
      { sharedDays: 81, animal: { id: sire } },
      { sharedDays: 10, animal: { id: second } },
    ]);
    const made = await breeding.do(keeper, 'recordHatchlings', { clutchId, when: '2026-05-30', young: [{}] });
    const [fromSire] = await claimsOf(made.young[0]?.id ?? '');
    expect(fromSire?.candidates.map(({ probability }) => probability)).toEqual([0.5, 0.5]);
    await breeding.do(keeper, 'recordMating', { damId, sireId: second, when: '2026-02-05' });
    expect(await propose(null)).toMatchObject({
      sires: [{ probability: 1, animal: { id: second } }],
      sireBasis: 'observed',
      warnings: [{ code: 'OTHER_MALES_WITH_DAM' }],
    });
  });

  it('take the parents the caller names instead', async () => {
    const { dam: damId, sire } = await breeding.pair(keeper, taxonId);
    const young = (sireInput: object) =>
      breeding.do(keeper, 'recordHatchlings', { clutchId, when: '2026-05-30', young: [{}], sire: sireInput });
    const clutchId = await clutchOf(damId);
    const named = await young({ parentId: sire, basis: 'genetic_test' });
    expect((await claimsOf(named.young[0]?.id ?? ''))[0]).toMatchObject({ role: 'sire', basis: 'genetic_test' });
    const unknown = await young({ unknown: true });
    expect((await claimsOf(unknown.young[0]?.id ?? '')).map(({ role }) => role)).toEqual(['dam']);
  });

  it('without anybody with the dam have no sire, and the keeper is told', async () => {
    const made = await breeding.do(keeper, 'recordHatchlings', {
      clutchId: await clutchOf(await dam()),
      when: '2026-05-30',
      young: [{}],
    });
    expect(codes(made)).toContain('NO_SIRE_KNOWN');
    expect((await claimsOf(made.young[0]?.id ?? '')).map(({ role }) => role)).toEqual(['dam']);
  });

  it('of a group have all possible dams', async () => {
    const enclosureId = await breeding.enclosure(keeper, 'Group tank');
    const { dam: one, sire } = await breeding.pair(keeper, taxonId, enclosureId);
    server.setDay('2026-01-01');
    const two = await world.animal(keeper, taxonId, { sex: 'female', ...grown });
    await breeding.do(keeper, 'placeAnimals', { enclosureId, animalIds: [two] });
    server.setDay('2026-06-10');
    const { clutch } = await breeding.do(keeper, 'recordClutch', { enclosureId, laid: '2026-04-01', eggCount: 1 });
    expect((await readClutch(clutch.id)).dams.map(({ animal }) => animal?.id).toSorted()).toEqual(
      [one, two].toSorted(),
    );
    const made = await breeding.do(keeper, 'recordHatchlings', {
      clutchId: clutch.id,
      when: '2026-05-30',
      young: [{}],
    });
    const claims = await claimsOf(made.young[0]?.id ?? '');
    expect(claims.map(({ role, candidates }) => [role, candidates.map(({ probability }) => probability)])).toEqual([
      ['sire', [1]],
      ['dam', [0.5, 0.5]],
    ]);
    expect(claims[0]?.candidates[0]?.parentId).toBe(sire);
    await breeding.do(keeper, 'correctBreedingFact', {
      kind: 'clutch',
      factId: clutch.id,
      damId: one,
      reason: 'A test said so.',
    });
    expect((await readClutch(clutch.id)).dams).toMatchObject([{ probability: 1, animal: { id: one } }]);
    expect((await readClutch(clutch.id)).hatchings.edges).toHaveLength(1);
  });

  it('that were found without a clutch are welcome, and their parents are looked for where they were found', async () => {
    const enclosureId = await breeding.enclosure(keeper, 'Greenhouse');
    const { dam: damId, sire } = await breeding.pair(keeper, taxonId, enclosureId);
    const made = await breeding.do(keeper, 'recordHatchlings', {
      keeperId: keeper.keeperId,
      taxonId,
      enclosureId,
      when: { foundOn: '2026-06-01', atMostDaysBefore: 5 },
      young: [{ name: 'Stray' }, { count: 12, estimated: true }],
    });
    expect(made.young).toHaveLength(2);
    for (const { id } of made.young)
      expect((await claimsOf(id)).map(({ candidates }) => candidates[0]?.parentId)).toEqual([sire, damId]);
    const lot = await world.db.animal.findUniqueOrThrow({ where: { id: made.young[1]?.id ?? '' } });
    expect(lot).toMatchObject({ kind: 'lot', count: 12, countEstimated: true, birthEdtf: '2026-05-27/2026-06-01' });
  });

  it('of a live-bearer come from a birth without eggs', async () => {
    const bearer = await breeding.taxon({ reproduction: { value: 'live_bearing', source: 'invented' } });
    const mother = await world.animal(keeper, bearer, { sex: 'female', ...grown });
    const birth = { damId: mother, kind: 'born', laid: '2026-05-30', eggCount: 2 };
    const { clutch, warnings } = await breeding.do(keeper, 'recordClutch', birth);
    expect(warnings).toEqual([]);
    const numbered = { clutchId: clutch.id, when: '2026-05-30', young: [{ eggNumber: 1 }] };
    expect((await breeding.refused(keeper, 'recordHatchlings', numbered)).rule).toBe('CLUTCH_WITHOUT_EGGS');
    const made = await breeding.do(keeper, 'recordHatchlings', { ...numbered, young: [{}, {}] });
    const facts = await world.db.animalFact.findMany({ where: { animalId: made.young[0]?.id ?? '', kind: 'birth' } });
    expect(facts).toMatchObject([{ body: { manner: 'born' } }]);
    expect((await readClutch(clutch.id)).eggs.edges).toEqual([]);
  });

  it('hatched before the laying are refused; an incubation out of range warns with its source', async () => {
    const clutchId = await clutchOf(await dam());
    const hatch = (when: string) => ({ clutchId, when, young: [{}] });
    expect((await breeding.refused(keeper, 'recordHatchlings', hatch('2026-03-31'))).rule).toBe('HATCHED_BEFORE_LAID');
    expect((await breeding.refused(keeper, 'recordHatchlings', hatch('2026-06-11'))).rule).toBe('DAY_IN_FUTURE');
    const soon = await breeding.do(keeper, 'recordHatchlings', hatch('2026-04-20'));
    expect(codes(soon)).toContain('INCUBATION_OUT_OF_RANGE');
    expect(soon.warnings.find(({ code }) => code === 'INCUBATION_OUT_OF_RANGE')?.message).toContain('invented bounds');
    expect((await breeding.refused(stranger, 'recordHatchlings', hatch('2026-05-30'))).code).toBe('NOT_FOUND');
  });
});

describe('what is to be expected', () => {
  const FORECAST = '{ breedingForecast { nextClutch { earliest latest basis source } } }';
  const next = async (id: string) =>
    (
      await server.get<{ animal: { breedingForecast: { nextClutch: object | null } | null } }>(
        `query ($id: ID!) { animal(id: $id) ${FORECAST} }`,
        { id },
        keeper.token,
      )
    ).animal.breedingForecast?.nextClutch;

  it('comes from the profile, then from the dam’s own intervals', async () => {
    const damId = await dam();
    await clutchOf(damId, { laid: '2025-08-01' });
    expect(await next(damId)).toEqual({
      earliest: '2025-10-15',
      latest: '2025-11-04',
      basis: 'taxon',
      source: 'common practice, no published source',
    });
    for (const laid of ['2025-10-20', '2026-01-08', '2026-03-29']) await clutchOf(damId, { laid });
    expect(await next(damId)).toMatchObject({ earliest: '2026-06-17', latest: '2026-06-17', basis: 'own' });
  });

  it('a clutch says when young are due, until nothing is left to hatch', async () => {
    const clutchId = await clutchOf(await dam(), { laid: '2026-04-10' });
    expect((await readClutch(clutchId)).hatchForecast).toMatchObject({
      earliest: '2026-05-30',
      latest: '2026-06-19',
      basis: 'taxon',
    });
    await breeding.do(keeper, 'recordEggEvents', { clutchId, kind: 'infertile', when: '2026-05-01' });
    expect((await readClutch(clutchId)).hatchForecast).toBeNull();
  });
});

describe('planned pairings', () => {
  it('move on as a plan does and are no evidence', async () => {
    const { dam: damId, sire: sireId } = await breeding.pair(keeper, taxonId);
    const { pairing } = await breeding.do(keeper, 'planPairing', {
      damId,
      sireId,
      from: '2026-09-01',
      note: 'After the summer',
    });
    expect(pairing).toMatchObject({ state: 'planned', version: 1 });
    const move = (state: string, version?: number) => ({ pairingId: pairing.id, state, version });
    expect((await breeding.refused(keeper, 'movePairing', move('ended'))).rule).toBe('PAIRING_STATE');
    await breeding.do(keeper, 'movePairing', move('under_way', 1));
    expect((await breeding.refused(keeper, 'movePairing', move('dropped', 1))).code).toBe('STALE_VERSION');
    expect((await breeding.refused(stranger, 'movePairing', move('dropped'))).code).toBe('NOT_FOUND');
    expect(await world.db.mating.count({ where: { damId } })).toBe(0);
    const proposal = await server.get<{ parentProposal: { sires: object[] } }>(
      'query ($id: ID!) { parentProposal(clutchId: $id) { sires { probability } } }',
      { id: await clutchOf(damId) },
      keeper.token,
    );
    expect(proposal.parentProposal.sires).toEqual([]);
    const { pairings } = await server.get<{ pairings: { edges: { node: { dam: { id: string } } }[] } }>(
      'query ($id: ID!) { pairings(keeperId: $id) { edges { node { dam { id } state } } } }',
      { id: keeper.keeperId },
      keeper.token,
    );
    expect(pairings.edges[0]?.node.dam.id).toBe(damId);
  });
});
