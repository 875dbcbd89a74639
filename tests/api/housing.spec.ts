import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { BreedingWorld, codes } from '../support/breeding-world.js';
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
  taxonId = await breeding.taxon({});
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});
beforeEach(() => server.setDay('2026-06-10'));

async function animal(): Promise<string> {
  server.setDay('2026-01-01');
  const id = await world.animal(keeper, taxonId);
  server.setDay('2026-06-10');
  return id;
}
const place = (enclosureId: string, animalIds: string[], from?: string, until?: string) =>
  breeding.do(keeper, 'placeAnimals', { enclosureId, animalIds, from, until });

type Stays = { edges: { node: { id: string; from: string; until: string | null; animal: { id: string } } }[] };
const STAYS = 'edges { node { id from until animal { id } } }';
async function residents(enclosureId: string, on: string | null, knownAt: string | null = null): Promise<string[]> {
  const document = `query ($id: ID!, $on: Day, $at: DateTime) { enclosure(id: $id) { residents(on: $on, knownAt: $at) { ${STAYS} } } }`;
  const { enclosure } = await server.get<{ enclosure: { residents: Stays } }>(
    document,
    { id: enclosureId, on, at: knownAt },
    keeper.token,
  );
  return enclosure.residents.edges.map(({ node }) => node.animal.id).toSorted();
}
async function staysOf(id: string): Promise<{ id: string; from: string; until: string | null }[]> {
  const document = `query ($id: ID!) { animal(id: $id) { stays { ${STAYS} } } }`;
  const answer = await server.get<{ animal: { stays: Stays } }>(document, { id }, keeper.token);
  return answer.animal.stays.edges.map(({ node }) => ({ id: node.id, from: node.from, until: node.until }));
}
type Together = {
  edges: { node: { from: string; until: string | null; animal: { id: string }; enclosure: { name: string } } }[];
};
async function companions(id: string, from: string | null, until: string | null, by = keeper) {
  const document = `query ($id: ID!, $from: Day, $until: Day) { animal(id: $id) { companions(from: $from, until: $until) {
    edges { node { from until animal { id } enclosure { name } } } } } }`;
  const answer = await server.get<{ animal: { companions: Together } }>(document, { id, from, until }, by.token);
  return answer.animal.companions.edges.map(({ node }) => ({
    ...node,
    animal: node.animal.id,
    enclosure: node.enclosure.name,
  }));
}

describe('enclosures', () => {
  it('stand indoors or outdoors in a room, which can be changed later', async () => {
    const made = await server.get<{ recordEnclosure: { enclosure: { id: string } } }>(
      `mutation ($input: RecordEnclosureInput!) { recordEnclosure(input: $input) { enclosure { id } } }`,
      { input: { keeperId: keeper.keeperId, name: 'Tank 4', setting: 'indoor', room: 'Cellar', controlled: 'yes' } },
      keeper.token,
    );
    const { id } = made.recordEnclosure.enclosure;
    const update = `mutation ($input: UpdateEnclosureInput!) { updateEnclosure(input: $input) { enclosure { name setting room controlled } } }`;
    const changed = await server.get<object>(
      update,
      { input: { enclosureId: id, room: null, name: 'Tank 5' } },
      keeper.token,
    );
    expect(changed).toEqual({
      updateEnclosure: { enclosure: { name: 'Tank 5', setting: 'indoor', room: null, controlled: 'yes' } },
    });
    const { errors } = await server.ask(update, { input: { enclosureId: id, name: 'Mine' } }, stranger.token);
    expect(errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});

describe('stays', () => {
  it('say who was in an enclosure on any past day, and who shared it with whom', async () => {
    const [pond, shed] = [await breeding.enclosure(keeper, 'Pond'), await breeding.enclosure(keeper, 'Shed')];
    const [a, b, c] = [await animal(), await animal(), await animal()];
    await place(pond, [a, b], '2026-02-01');
    await place(pond, [c], '2026-03-01', '2026-03-10');
    await place(shed, [b], '2026-04-01');
    expect(await residents(pond, '2026-02-15')).toEqual([a, b].toSorted());
    expect(await residents(pond, '2026-03-09')).toEqual([a, b, c].toSorted());
    expect(await residents(pond, '2026-03-10')).toEqual([a, b].toSorted());
    expect(await residents(pond, null)).toEqual([a]);
    expect(await companions(a, '2026-03-01', '2026-03-31')).toEqual([
      { from: '2026-02-01', until: '2026-04-01', animal: b, enclosure: 'Pond' },
      { from: '2026-03-01', until: '2026-03-10', animal: c, enclosure: 'Pond' },
    ]);
    expect((await companions(a, '2026-04-01', null)).map(({ animal: id }) => id)).toEqual([]);
    const upsideDown = `query ($id: ID!) { animal(id: $id) { companions(from: "2026-04-02", until: "2026-04-01") { edges { cursor } } } }`;
    expect((await server.ask(upsideDown, { id: a }, keeper.token)).errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });

  it('that overlap by one day are refused with the other stay named; from the day of a move on they are not', async () => {
    const [pond, shed] = [await breeding.enclosure(keeper, 'Pond'), await breeding.enclosure(keeper, 'Shed')];
    const a = await animal();
    await place(pond, [a], '2026-02-01', '2026-03-01');
    const late = { enclosureId: shed, animalIds: [a], from: '2026-02-28', until: '2026-03-05' };
    const refused = await breeding.refused(keeper, 'placeAnimals', late);
    expect(refused.rule).toBe('PLACEMENT_OVERLAPS');
    expect(refused.message).toContain('in "Pond" from 2026-02-01 until 2026-03-01');
    expect(refused.blockers).toContainEqual(expect.objectContaining({ kind: 'stay', id: (await staysOf(a))[0]?.id }));
    await place(shed, [a], '2026-03-01', '2026-03-05');
    expect((await breeding.refused(keeper, 'placeAnimals', { ...late, from: '2026-03-06' })).rule).toBe(
      'STAY_DAYS_REVERSED',
    );
    expect((await staysOf(a)).map(({ from }) => from)).toEqual(['2026-02-01', '2026-03-01']);
  });

  it('of several animals begin all together or not at all', async () => {
    const [pond, shed] = [await breeding.enclosure(keeper, 'Pond'), await breeding.enclosure(keeper, 'Shed')];
    const [free, settled] = [await animal(), await animal()];
    await place(pond, [settled], '2026-05-01');
    const both = { enclosureId: shed, animalIds: [free, settled], from: '2026-04-01' };
    expect((await breeding.refused(keeper, 'placeAnimals', both)).rule).toBe('PLACEMENT_DAY_TOO_EARLY');
    expect(await staysOf(free)).toEqual([]);
  });

  it('are corrected by a superseding one; what was believed before can still be asked', async () => {
    const pond = await breeding.enclosure(keeper, 'Pond');
    const a = await animal();
    server.setDay('2026-05-01');
    await place(pond, [a], '2026-04-01');
    server.setDay('2026-06-10');
    const [stay] = await staysOf(a);
    const input = { stayId: stay?.id, from: '2026-04-20', reason: 'Mixed up two days.' };
    expect((await breeding.refused(stranger, 'correctStay', input)).code).toBe('NOT_FOUND');
    expect((await breeding.refused(keeper, 'correctStay', { ...input, from: '2025-12-31' })).rule).toBe(
      'PLACED_BEFORE_HELD',
    );
    await breeding.do(keeper, 'correctStay', input);
    expect(await residents(pond, '2026-04-10')).toEqual([]);
    expect(await residents(pond, '2026-04-10', '2026-05-20T00:00:00Z')).toEqual([a]);
    const [now] = await staysOf(a);
    await breeding.do(keeper, 'correctStay', { stayId: now?.id, takeBack: true, reason: 'It was another animal.' });
    expect(await staysOf(a)).toEqual([]);
    expect(await world.db.placement.count({ where: { animalId: a } })).toBe(2);
  });

  it('end with the animal’s time at the keeper, and nobody else reads them', async () => {
    const pond = await breeding.enclosure(keeper, 'Pond');
    const [a, b] = [await animal(), await animal()];
    await place(pond, [a, b], '2026-02-01');
    await server.get(
      `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }`,
      { input: { animalId: b, on: '2026-03-01' } },
      keeper.token,
    );
    expect(await residents(pond, '2026-02-28')).toEqual([a, b].toSorted());
    expect(await residents(pond, '2026-03-02')).toEqual([a]);
    const { errors } = await server.ask(
      'query ($id: ID!) { enclosure(id: $id) { name } }',
      { id: pond },
      stranger.token,
    );
    expect(errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });

  it('of an animal in quarantine with one outside its group warn', async () => {
    const pond = await breeding.enclosure(keeper, 'Pond');
    const [a, b, c] = [await animal(), await animal(), await animal()];
    await server.get(
      `mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }`,
      { input: { keeperId: keeper.keeperId, name: 'New ones', animalIds: [a, b], enteredOn: '2026-06-01' } },
      keeper.token,
    );
    expect(codes(await place(pond, [a, b]))).toEqual([]);
    const mixed = await place(pond, [c]);
    expect(codes(mixed)).toEqual(['QUARANTINE_MIXED']);
    expect(mixed.warnings[0]?.message).toContain('veterinarian');
  });
});

describe('a family with its eggs', () => {
  const EGGS =
    'query ($id: ID!) { clutch(id: $id) { eggs { edges { node { state place { enclosure { name } incubator } } } } } }';
  type Eggs = {
    clutch: {
      eggs: { edges: { node: { place: { enclosure: { name: string } | null; incubator: string | null } | null } }[] };
    };
  };
  const places = async (id: string) =>
    (await server.get<Eggs>(EGGS, { id }, keeper.token)).clutch.eggs.edges.map(
      ({ node }) => node.place?.enclosure?.name ?? node.place?.incubator ?? null,
    );

  it('moves in one act: everybody and every egg that is still there', async () => {
    const [pond, shed] = [await breeding.enclosure(keeper, 'Pond'), await breeding.enclosure(keeper, 'Shed')];
    const { dam, sire } = await breeding.pair(keeper, taxonId, pond);
    const laid = { damId: dam, enclosureId: pond, laid: '2026-05-01', eggCount: 3 };
    const { clutch } = await breeding.do(keeper, 'recordClutch', laid);
    const egg = (eggs: number[], more: object) =>
      breeding.do(keeper, 'recordEggEvents', { clutchId: clutch.id, eggs, when: '2026-05-10', ...more });
    await egg([2], { kind: 'incubated', incubator: 'Warm box' });
    await egg([3], { kind: 'failed' });
    const moved = await breeding.do(keeper, 'moveFamily', { fromEnclosureId: pond, toEnclosureId: shed });
    expect(moved).toMatchObject({ animals: 2, clutches: 1, warnings: [] });
    expect(await residents(shed, '2026-06-10')).toEqual([dam, sire].toSorted());
    expect(await residents(pond, null)).toEqual([]);
    expect(await places(clutch.id)).toEqual(['Shed', 'Warm box', null]);
    expect((await breeding.refused(keeper, 'moveFamily', { fromEnclosureId: pond, toEnclosureId: shed })).rule).toBe(
      'MOVE_EMPTY',
    );
  });

  it('does not move at all when one of them cannot', async () => {
    const [pond, shed] = [await breeding.enclosure(keeper, 'Pond'), await breeding.enclosure(keeper, 'Shed')];
    const { dam, sire } = await breeding.pair(keeper, taxonId, pond);
    const { clutch } = await breeding.do(keeper, 'recordClutch', { damId: dam, laid: '2026-05-01', eggCount: 1 });
    const move = { toEnclosureId: shed, animalIds: [dam, sire], clutches: [{ clutchId: clutch.id }], on: '2026-04-30' };
    expect((await breeding.refused(keeper, 'moveFamily', move)).rule).toBe('EGG_EVENT_BEFORE_LAID');
    expect(await residents(shed, '2026-06-10')).toEqual([]);
    expect(await residents(pond, '2026-06-10')).toEqual([dam, sire].toSorted());
    const done = await breeding.do(keeper, 'moveFamily', { ...move, on: '2026-05-02' });
    expect(done).toMatchObject({ animals: 2, clutches: 1 });
    expect(await places(clutch.id)).toEqual(['Shed']);
    expect((await breeding.refused(stranger, 'moveFamily', move)).code).toBe('NOT_FOUND');
  });
});
