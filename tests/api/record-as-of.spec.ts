import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { lockAnimals } from '../../libs/animal/index.js';
import { handOver, setOwners } from '../../libs/custody/index.js';
import { day } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type GraphqlError, type TestApp } from '../support/test-app.js';

const RECORD = `query ($id: ID, $at: DateTime, $on: Day) { animal(id: $id) { record(asKnownAt: $at, asOf: $on) {
  born name sex birth { edtf manner } fate fatePossibly lastSeenOn marks { value }
  measurements { edges { node { value } } } notes { edges { node { text } } } } } }`;
const HISTORY = `query ($id: ID, $first: Int, $after: String) { animal(id: $id) { factHistory(first: $first, after: $after) {
  edges { node { id kind says edtf inForce supersededBy reason restores keeperId } } pageInfo { hasNextPage endCursor } } } }`;

type Believed = {
  born: boolean | null;
  name: string | null;
  sex: string;
  birth: { edtf: string; manner: string } | null;
  fate: string;
  fatePossibly: string | null;
  lastSeenOn: string | null;
  marks: { value: string }[];
  measurements: { edges: { node: { value: number } }[] };
  notes: { edges: { node: { text: string } }[] };
};
type Version = {
  id: string;
  kind: string;
  says: string;
  inForce: boolean;
  supersededBy: string | null;
  reason: string | null;
  restores: string | null;
  keeperId: string;
};
type History = { edges: { node: Version }[]; pageInfo: { hasNextPage: boolean; endCursor: string | null } };
type Corrected = { animal: { id: string; sex: string }; factId: string | null; warnings: { code: string }[] };

describe('corrections, and the record as it was believed', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let taxon: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    taxon = await world.taxon();
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });
  beforeEach(async () => {
    test.setDay('2026-06-01');
    keeper = await world.keeper('Alder House');
  });

  const record = async (animalId: string, more: object, who = keeper): Promise<string> =>
    (
      await test.get<{ recordFact: { factId: string } }>(
        `mutation ($input: RecordFactInput!) { recordFact(input: $input) { factId } }`,
        { input: { animalId, ...more } },
        who.token,
      )
    ).recordFact.factId;
  const NAMES = { supersede: 'SupersedeFactInput', withdraw: 'WithdrawFactInput', restore: 'RestoreFactInput' };
  const mutation = (act: keyof typeof NAMES) =>
    `mutation ($input: ${NAMES[act]}!) { done: ${act}Fact(input: $input) { animal { id sex } factId warnings { code } } }`;
  const correct = async (act: keyof typeof NAMES, factId: string, more: object = {}, who = keeper) =>
    (await test.get<{ done: Corrected }>(mutation(act), { input: { factId, reason: 'A slip.', ...more } }, who.token))
      .done;
  const refused = async (act: keyof typeof NAMES, factId: string, more: object = {}, who = keeper) => {
    const answer = await test.ask(mutation(act), { input: { factId, reason: 'A slip.', ...more } }, who.token);
    return (answer.errors?.[0] as GraphqlError).extensions;
  };
  const believed = async (id: string, at: string | null = null, on: string | null = null, who = keeper) =>
    (await test.get<{ animal: { record: Believed } }>(RECORD, { id, at, on }, who.token)).animal.record;
  const history = async (id: string, who = keeper, page: object = {}) =>
    (await test.get<{ animal: { factHistory: History | null } }>(HISTORY, { id, ...page }, who.token)).animal
      .factHistory;
  const weights = (shown: Believed) => shown.measurements.edges.map(({ node }) => node.value);

  it('corrects, takes back and brings back a fact; columns follow, and the history shows all of it', async () => {
    const id = await world.animal(keeper, taxon);
    const male = await record(id, { sex: { sex: 'male', method: 'by sight', confidence: 'guess' } });
    test.setDay('2026-06-05');
    const female = await correct('supersede', male, { sex: { sex: 'female', method: 'probing' } });
    expect(female).toMatchObject({ animal: { sex: 'female' }, warnings: [] });
    test.setDay('2026-06-10');
    const restored = await correct('restore', male, { reason: 'The probe was misread.' });
    expect(restored.animal.sex).toBe('male');
    test.setDay('2026-06-15');
    expect(await correct('withdraw', restored.factId ?? '')).toMatchObject({
      animal: { sex: 'unknown' },
      factId: null,
    });
    for (const [at, sex] of [
      ['2026-05-30', 'unknown'],
      ['2026-06-02', 'male'],
      ['2026-06-06', 'female'],
      ['2026-06-12', 'male'],
      ['2026-06-16', 'unknown'],
    ])
      expect([at, (await believed(id, `${at}T12:00:00Z`)).sex]).toEqual([at, sex]);
    const versions = (await history(id))?.edges.map(({ node }) => node);
    expect(versions).toMatchObject([
      { id: restored.factId, says: 'male (by sight, guess)', inForce: false, supersededBy: null, restores: male },
      { id: female.factId, says: 'female (probing)', supersededBy: restored.factId, reason: 'The probe was misread.' },
      { id: male, supersededBy: female.factId, reason: 'A slip.', restores: null, keeperId: keeper.keeperId },
    ]);
    const entries = await world.db.ledgerEntry.findMany({
      where: { action: 'animal.fact-corrected', subjects: { has: id } },
      orderBy: { at: 'asc' },
    });
    expect(entries.map(({ body }) => (JSON.parse(body) as { by: string }).by)).toEqual([
      'superseded',
      'restored',
      'withdrawn',
    ]);
    expect(entries.map(({ body }) => body).join()).not.toContain('misread');
  });

  it('pages the history, newest first', async () => {
    const id = await world.animal(keeper, taxon);
    const ids: string[] = [];
    for (const weightGrams of [40, 41, 42]) ids.push(await record(id, { weightGrams }));
    const first = await history(id, keeper, { first: 2 });
    expect(first?.edges.map(({ node }) => node.id)).toEqual([ids[2], ids[1]]);
    const rest = await history(id, keeper, { first: 2, after: first?.pageInfo.endCursor });
    expect(rest?.edges.map(({ node }) => node.id)).toEqual([ids[0]]);
    expect(rest?.pageInfo.hasNextPage).toBe(false);
  });

  it('shows what was believed at a moment about a day', async () => {
    const id = await world.animal(keeper, taxon, {
      name: 'Pip',
      birth: { edtf: { aboutDaysOld: 75, plusMinusDays: 5, on: '2026-05-03' }, manner: 'hatched' },
      marks: [{ kind: 'notch', value: 'left 3', when: '2026-05-20' }],
    });
    const typo = await record(id, { weightGrams: 425, when: '2026-05-25' });
    await record(id, { note: { topic: 'care', text: 'Eats well.' }, when: '2026-05-30' });
    test.setDay('2026-06-05');
    await correct('supersede', typo, { weightGrams: 42.5 });
    expect(await believed(id)).toMatchObject({
      born: true,
      name: 'Pip',
      birth: { edtf: '2026-02-12/2026-02-22', manner: 'hatched' },
      fate: 'alive',
      marks: [{ value: 'left 3' }],
      notes: { edges: [{ node: { text: 'Eats well.' } }] },
    });
    expect(weights(await believed(id))).toEqual([42.5]);
    expect(weights(await believed(id, '2026-06-02T00:00:00Z'))).toEqual([425]);
    expect(await believed(id, null, '2026-05-10')).toMatchObject({ marks: [], notes: { edges: [] }, lastSeenOn: null });
    expect(await believed(id, '2026-06-02T00:00:00Z', '2026-05-26')).toMatchObject({
      lastSeenOn: '2026-05-25',
      marks: [{ value: 'left 3' }],
      notes: { edges: [] },
    });
    expect((await believed(id, null, '2026-02-01')).born).toBe(false);
    expect((await believed(id, null, '2026-02-15')).born).toBeNull();
  });

  it('shows a past holder nothing later than their own, and nobody without the animal its history', async () => {
    const id = await world.animal(keeper, taxon, { since: '2026-05-01' });
    const weight = await record(id, { weightGrams: 425, when: '2026-05-25' });
    await record(id, { note: { topic: 'private', text: 'Only mine.' } });
    const next = await world.keeper('Beech House');
    test.setDay('2026-06-05');
    const uow = new UnitOfWork(world.db, test.app.get(Clock, { strict: false }));
    await uow.writeAsServer(null, async (tx) => {
      await lockAnimals(tx, [id]);
      const to = { kind: 'keeper' as const, keeperId: next.keeperId };
      const moved = await handOver(tx, {
        animalId: id,
        to,
        on: day('2026-06-05'),
        leftBy: 'given',
        arrivedBy: 'received',
      });
      return moved.ok
        ? setOwners(tx, { animalId: id, from: day('2026-06-05'), shares: [{ owner: to, parts: 1 }] })
        : moved;
    });
    test.setDay('2026-06-10');
    await correct('supersede', weight, { weightGrams: 42.5 }, next);
    expect(weights(await believed(id, null, null, next))).toEqual([42.5]);
    expect(weights(await believed(id))).toEqual([425]);
    expect(weights(await believed(id, '2026-06-11T00:00:00Z'))).toEqual([425]);
    expect(await history(id)).toBeNull();
    const seen = (await history(id, next))?.edges.map(({ node }) => node.kind);
    expect(seen).toEqual(['weight', 'weight']);
    expect((await refused('supersede', weight, { weightGrams: 1 })).code).toBe('FORBIDDEN');
  });

  it('refuses what cannot be, and says the same of a fact that is hidden and one that does not exist', async () => {
    const id = await world.animal(keeper, taxon);
    const first = await record(id, { weightGrams: 42 });
    const { factId } = await correct('supersede', first, { when: '2026-05-20' });
    expect(await refused('supersede', first, { weightGrams: 43 })).toMatchObject({
      rule: 'FACT_NOT_IN_FORCE',
      blockers: [{ kind: 'fact', id: factId }],
    });
    expect(await refused('restore', factId ?? '')).toMatchObject({ rule: 'FACT_IN_FORCE' });
    expect(await refused('supersede', factId ?? '', { name: 'Pip' })).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.name' }],
    });
    expect(await refused('supersede', factId ?? '')).toMatchObject({ fields: [{ path: 'input' }] });
    expect(await refused('withdraw', factId ?? '', { reason: ' ' })).toMatchObject({
      fields: [{ path: 'input.reason' }],
    });
    expect(await refused('supersede', factId ?? '', { when: '2999-01-01' })).toMatchObject({
      rule: 'DAY_IN_FUTURE',
      fields: [{ path: 'input.when' }],
    });
    const stranger = await world.keeper('Far House');
    const hidden = await refused('withdraw', factId ?? '', {}, stranger);
    const absent = await refused('withdraw', '01890000-0000-7000-8000-000000000000', {}, stranger);
    expect({ ...hidden, requestId: '' }).toEqual({ ...absent, requestId: '' });
    expect(hidden.code).toBe('NOT_FOUND');
  });

  it('corrects a birth unless facts, parents or young say that it cannot have been', async () => {
    const born = (edtf: string) => ({ birth: { edtf, manner: 'hatched' } });
    const dam = await world.animal(keeper, taxon, { sex: 'female', ...born('2020-05-01') });
    const id = await world.animal(keeper, taxon, { damId: dam, ...born('2025-05-01') });
    const seen = await record(id, { seen: true, when: '2025-06-01' });
    const birth = (await history(id))?.edges.find(({ node }) => node.kind === 'birth')?.node.id ?? '';
    expect(await refused('supersede', birth, { when: '2020-04-01' })).toMatchObject({
      rule: 'BIRTH_AGAINST_RECORDS',
      blockers: [{ kind: 'animal', id: dam }],
    });
    expect(await refused('supersede', birth, { when: '2025-07-01' })).toMatchObject({
      rule: 'BIRTH_AGAINST_RECORDS',
      blockers: [{ kind: 'fact', id: seen }],
    });
    const rechecks = () => world.db.outboxMessage.count({ where: { job: 'provenance.recheck-origin' } });
    const before = await rechecks();
    await correct('supersede', birth, { when: '2025-04', birthManner: 'born' });
    expect((await believed(id)).birth).toEqual({ edtf: '2025-04', manner: 'born' });
    expect(await rechecks()).toBe(before + 1);
    const damSex = (await history(dam))?.edges.find(({ node }) => node.kind === 'sex')?.node.id ?? '';
    expect((await correct('supersede', damSex, { sex: { sex: 'male' } })).warnings).toEqual([
      { code: 'SEX_CONTRADICTS_OFFSPRING' },
    ]);
  });

  it('of two people who correct one fact at once, one does and the other is told', async () => {
    const id = await world.animal(keeper, taxon);
    const fact = await record(id, { weightGrams: 425 });
    const answers = await Promise.all(
      [42, 43].map((weightGrams) =>
        test.ask(mutation('supersede'), { input: { factId: fact, reason: 'A slip.', weightGrams } }, keeper.token),
      ),
    );
    expect(answers.map(({ errors }) => errors?.[0]?.extensions.rule ?? 'done').toSorted()).toEqual([
      'FACT_NOT_IN_FORCE',
      'done',
    ]);
    expect(weights(await believed(id))).toHaveLength(1);
  });
});
