import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { OriginWorld } from '../support/origin-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let origin: OriginWorld;
let keeper: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  origin = new OriginWorld(server, world);
  keeper = await world.keeper('Juniper');
  stranger = await world.keeper('Quillon');
  taxonId = await origin.taxon();
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});
beforeEach(() => server.setDay('2026-06-10'));

describe('what the records say of an origin', () => {
  it('a wild-caught dam that laid 9 days after arrival contradicts "bred", in words, with the bound and its source', async () => {
    const { young, clutch } = await origin.contradictory(keeper, taxonId);
    const found = await origin.finding(keeper, young);
    expect(found).toMatchObject({
      claim: 'bred',
      verdict: 'contradicted',
      generation: { lowest: 0, highest: 0 },
      sourceCode: { codes: ['W', 'R'] },
    });
    const [against] = found.items.filter((item) => item.weighs === 'contradicts');
    expect(against?.words).toContain('taken from the wild on 2026-01-10 and laid on 2026-01-19');
    expect(against?.source).toContain('invented bound of 20 days');
    expect(against?.factIds).toContain(clutch);
    expect(found.missing.join(' ')).toContain('a genetic test');
    expect(found.caution).toContain('licensing authority');
  });

  it('an honest keeper with gaps is consistent, with nothing doubted', async () => {
    const { young } = await origin.honest(keeper, taxonId);
    const found = await origin.finding(keeper, young);
    expect(found).toMatchObject({ claim: 'bred', verdict: 'consistent', askFirst: false, sourceCode: { codes: [] } });
    expect(found.items.filter((item) => item.weighs === 'doubts' || item.weighs === 'contradicts')).toEqual([]);
    expect(found.missing.length).toBeGreaterThan(0);
  });

  it('nothing recorded is stated only', async () => {
    const animal = await world.animal(keeper, taxonId, { originClass: 'bred' });
    expect(await origin.finding(keeper, animal)).toMatchObject({ verdict: 'stated_only', askFirst: false });
  });

  it('the enclosure on the day of the mating counts, and its name stands nowhere', async () => {
    server.setDay('2026-01-01');
    const dam = await world.animal(keeper, taxonId, { sex: 'female' });
    const sire = await world.animal(keeper, taxonId, { sex: 'male' });
    const enclosureId = await origin.do(keeper, 'recordEnclosure', {
      keeperId: keeper.keeperId,
      name: 'Behind the blue door',
      controlled: 'yes',
    });
    await origin.do(keeper, 'placeAnimals', { enclosureId, animalIds: [dam, sire] });
    server.setDay('2026-01-10');
    await origin.do(keeper, 'recordMating', { damId: dam, sireId: sire, when: '2026-01-10' });
    server.setDay('2026-03-01');
    const clutchId = await origin.do(keeper, 'recordClutch', { damId: dam, laid: '2026-03-01' });
    server.setDay('2026-05-01');
    const young = await world.animal(keeper, taxonId, {
      originClass: 'bred',
      damId: dam,
      sireId: sire,
      arrivedBy: 'born',
    });
    await origin.do(keeper, 'recordHatching', { clutchId, animalId: young, when: '2026-05-01' });
    const found = await origin.finding(keeper, young);
    expect(found).toMatchObject({
      verdict: 'consistent',
      generation: { lowest: 1, highest: null },
      sourceCode: { codes: ['F'] },
    });
    expect(found.items.some((item) => item.words.includes('in a controlled environment'))).toBe(true);
    expect(JSON.stringify(found)).not.toMatch(/blue door|Juniper/);
  });

  it('a correction with a reason changes the finding, and the earlier version is kept', async () => {
    const { young, clutch } = await origin.contradictory(keeper, taxonId);
    server.setDay('2026-06-10');
    const corrected = await origin.send<{ correctBreedingFact: { factId: string } }>(keeper, 'correctBreedingFact', {
      kind: 'clutch',
      factId: clutch,
      when: '2026-02-19',
      reason: 'Wrote the wrong month.',
    });
    expect(corrected.errors).toBeUndefined();
    expect((await origin.finding(keeper, young)).verdict).toBe('stated_only');
    const kept = await world.db.clutch.findUniqueOrThrow({ where: { id: clutch } });
    expect(kept).toMatchObject({
      supersededBy: corrected.data?.correctBreedingFact.factId,
      reason: 'Wrote the wrong month.',
    });
  });

  it('an unknown id and an animal of a stranger are not found, with one text', async () => {
    const animal = await world.animal(keeper, taxonId, { originClass: 'bred' });
    const query = 'query ($animalId: ID!) { originFinding(animalId: $animalId) { verdict } }';
    const answers = [];
    for (const animalId of [animal, uuid(), 'not an id']) {
      const { errors } = await server.ask(query, { animalId }, stranger.token);
      answers.push([errors?.[0]?.extensions.code, errors?.[0]?.message]);
    }
    expect(answers).toEqual(Array(3).fill(['NOT_FOUND', answers[0]?.[1]]));
  });
});

describe('bad input writes nothing', () => {
  const rows = async () => [
    await world.db.mating.count(),
    await world.db.clutch.count(),
    await world.db.hatching.count(),
    await world.db.placement.count(),
    await world.db.enclosure.count(),
    await world.db.ledgerEntry.count(),
    await world.db.outboxMessage.count(),
  ];

  it('days to come, reversed days, the animal itself, ids of others and ids of nobody', async () => {
    const dam = await world.animal(keeper, taxonId, { sex: 'female', since: '2026-01-01' });
    const male = await world.animal(keeper, taxonId, { sex: 'male' });
    const theirs = await world.animal(stranger, taxonId, { sex: 'female' });
    const young = await world.animal(keeper, taxonId);
    const clutchId = await origin.do(keeper, 'recordClutch', { damId: dam, laid: '2026-03' });
    const theirClutch = await origin.do(stranger, 'recordClutch', { damId: theirs, laid: '2026-03' });
    const mine = await origin.do(keeper, 'recordEnclosure', { keeperId: keeper.keeperId, name: 'A' });
    const before = await rows();
    const cases = [
      ['recordMating', { damId: dam, sireId: dam }, 'BREEDING_SAME_ANIMAL'],
      ['recordMating', { damId: male }, 'BREEDING_SEX_CONFLICT'],
      ['recordMating', { damId: dam, when: '2026-07' }, 'DAY_IN_FUTURE'],
      ['recordMating', { damId: dam, when: '2026-02-30' }, 'INVALID_INPUT'],
      ['recordMating', { damId: dam, when: '2026-03/2026-01' }, 'INVALID_INPUT'],
      ['recordMating', { damId: theirs }, 'NOT_FOUND'],
      ['recordMating', { damId: dam, sireId: theirs }, 'NOT_FOUND'],
      ['recordMating', { damId: uuid() }, 'NOT_FOUND'],
      ['recordClutch', { damId: dam, laid: '2026-03', foundOn: '2026-02-01' }, 'CLUTCH_FOUND_BEFORE_LAID'],
      ['recordClutch', { damId: dam, eggCount: 0 }, 'INVALID_INPUT'],
      ['recordHatching', { clutchId, animalId: young, when: '2026-02' }, 'HATCHED_BEFORE_LAID'],
      ['recordHatching', { clutchId: theirClutch, animalId: young }, 'NOT_FOUND'],
      ['recordHatching', { clutchId, animalId: dam }, 'BREEDING_SAME_ANIMAL'],
      ['recordEnclosure', { keeperId: stranger.keeperId, name: 'A' }, 'NOT_FOUND'],
      ['recordEnclosure', { keeperId: keeper.keeperId, name: '  ' }, 'INVALID_INPUT'],
      [
        'recordEnclosure',
        { keeperId: keeper.keeperId, name: 'A', controlled: 'yes', controlledSince: '2026-07-01' },
        'DAY_IN_FUTURE',
      ],
      ['placeAnimals', { enclosureId: mine, animalIds: [theirs] }, 'NOT_FOUND'],
      ['placeAnimals', { enclosureId: mine, animalIds: [] }, 'INVALID_INPUT'],
      ['placeAnimals', { enclosureId: mine, animalIds: [dam], from: '2026-06-11' }, 'DAY_IN_FUTURE'],
      ['placeAnimals', { enclosureId: mine, animalIds: [dam], from: '2025-12-31' }, 'PLACED_BEFORE_HELD'],
      ['placeAnimals', { enclosureId: uuid(), animalIds: [dam] }, 'NOT_FOUND'],
      ['recordFact', { animalId: dam, acquisition: { manner: 'bought', country: 'France' } }, 'INVALID_INPUT'],
      ['recordFact', { animalId: dam, when: '2026-07-01', acquisition: { manner: 'bought' } }, 'DAY_IN_FUTURE'],
      ['correctBreedingFact', { kind: 'clutch', factId: theirClutch, reason: 'x', takeBack: true }, 'NOT_FOUND'],
      ['correctBreedingFact', { kind: 'clutch', factId: clutchId, reason: 'x' }, 'INVALID_INPUT'],
      ['correctBreedingFact', { kind: 'clutch', factId: clutchId, reason: 'x', when: '2026-08' }, 'DAY_IN_FUTURE'],
    ] as const;
    for (const [name, input, expected] of cases) {
      const { errors } = await origin.send(keeper, name, input);
      const { code, rule } = errors?.[0]?.extensions ?? {};
      expect([name, input, rule ?? code]).toEqual([name, input, expected]);
    }
    expect(await rows()).toEqual(before);
  });

  it('an animal comes out of one clutch only', async () => {
    const dam = await world.animal(keeper, taxonId, { sex: 'female' });
    const young = await world.animal(keeper, taxonId);
    const clutchId = await origin.do(keeper, 'recordClutch', { damId: dam });
    await origin.do(keeper, 'recordHatching', { clutchId, animalId: young });
    const { errors } = await origin.send(keeper, 'recordHatching', { clutchId, animalId: young });
    expect(errors?.[0]?.extensions.rule).toBe('HATCHING_RECORDED');
  });
});

describe('enclosures', () => {
  it('are listed for their keeper, not found for anybody else, and a move ends the stay before on the same day', async () => {
    const enclosure = (name: string) => origin.do(keeper, 'recordEnclosure', { keeperId: keeper.keeperId, name });
    const [first, second] = [await enclosure('Rack 1'), await enclosure('Rack 2')];
    const animal = await world.animal(keeper, taxonId, { since: '2026-01-01' });
    await origin.do(keeper, 'placeAnimals', { enclosureId: first, animalIds: [animal], from: '2026-02-01' });
    await origin.do(keeper, 'placeAnimals', { enclosureId: second, animalIds: [animal], from: '2026-03-01' });
    const stays = await world.db.placement.findMany({
      where: { animalId: animal, supersededAt: null },
      orderBy: { validFrom: 'asc' },
    });
    expect(
      stays.map((stay) => [
        stay.enclosureId,
        stay.validFrom.toISOString().slice(0, 10),
        stay.validTo?.toISOString().slice(0, 10),
      ]),
    ).toEqual([
      [first, '2026-02-01', '2026-03-01'],
      [second, '2026-03-01', undefined],
    ]);
    const query = 'query ($keeperId: ID!) { enclosures(keeperId: $keeperId) { edges { node { name } } } }';
    const own = await server.get<{ enclosures: { edges: { node: { name: string } }[] } }>(
      query,
      { keeperId: keeper.keeperId },
      keeper.token,
    );
    expect(own.enclosures.edges.map((edge) => edge.node.name)).toEqual(expect.arrayContaining(['Rack 1', 'Rack 2']));
    const other = await server.ask(query, { keeperId: keeper.keeperId }, stranger.token);
    expect(other.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});
