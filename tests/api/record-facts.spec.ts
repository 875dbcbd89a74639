import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { RecordFacts } from '../../libs/animal/app/record-facts.js';
import { day, exactDay } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { createPrismaClient, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const RECORD = `mutation ($input: RecordFactsInput!) { recordFacts(input: $input) {
  facts { factId animal { id name sex } warnings { code } } } }`;

type Recorded = {
  recordFacts: {
    facts: { factId: string; animal: { id: string; name: string | null }; warnings: { code: string }[] }[];
  };
};

describe('recordFacts', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let taxon: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Alder House');
    taxon = await world.taxon();
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const count = (animalIds: string[]) => world.db.animalFact.count({ where: { animalId: { in: animalIds } } });
  const entries = (animalId: string) =>
    world.db.ledgerEntry.findMany({ where: { action: 'animal.facts-recorded', subjects: { has: animalId } } });

  it('records facts about several animals in one act, with one ledger entry an animal', async () => {
    const a = await world.animal(keeper, taxon);
    const b = await world.animal(keeper, taxon);
    const facts = [
      { animalId: a, weightGrams: 42.5, when: '2026-06-01' },
      { animalId: b, weightGrams: 300, when: { foundOn: '2026-06-09', atMostDaysBefore: 2 } },
      { animalId: a, name: 'Pip' },
      { animalId: a, weightGrams: 425, when: '2026-06-08' },
    ];
    const { recordFacts } = await test.get<Recorded>(RECORD, { input: { facts } }, keeper.token);
    expect(recordFacts.facts.map((each) => each.animal.id)).toEqual([a, b, a, a]);
    expect(recordFacts.facts[0]?.animal.name).toBe('Pip');
    expect(recordFacts.facts.map((each) => each.warnings.map(({ code }) => code))).toEqual([
      [],
      [],
      [],
      ['MEASUREMENT_TENFOLD'],
    ]);
    const stored = await world.db.animalFact.findMany({ where: { animalId: b, kind: 'weight' } });
    expect(stored.map(({ edtf }) => edtf)).toEqual(['2026-06-07/2026-06-09']);
    const [entry, ...others] = await entries(a);
    expect(others).toEqual([]);
    expect(entry?.subjects).toEqual([a]);
    expect(entry?.body).not.toContain(b);
    expect(entry?.body).not.toContain('Pip');
    expect((JSON.parse(entry?.body ?? '{}') as { facts: unknown[] }).facts).toHaveLength(3);
    expect(await entries(b)).toHaveLength(1);
  });

  it('writes nothing when one does not fit, and names each by its place', async () => {
    const a = await world.animal(keeper, taxon, { birth: { edtf: '2026-05-01', manner: 'hatched' } });
    const before = await count([a]);
    const facts = [
      { animalId: a, weightGrams: 42 },
      { animalId: a, weightGrams: 43, when: '2026-04-01' },
      { animalId: a, seen: true },
      { animalId: a, weightGrams: 44, when: '2999-01-01' },
    ];
    const refused = await test.ask(RECORD, { input: { facts } }, keeper.token);
    expect(refused.errors?.[0]?.extensions).toMatchObject({
      code: 'RULE_REFUSED',
      rule: 'FACT_BEFORE_BIRTH',
      fields: [{ path: 'input.facts.1.when' }, { path: 'input.facts.3.when' }],
    });
    const unread = [facts[0], { animalId: a, weightGrams: -1 }, { animalId: a, weightGrams: 1, when: '31.12.2025' }];
    const invalid = await test.ask(RECORD, { input: { facts: unread } }, keeper.token);
    expect(invalid.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.facts.1.weightGrams' }, { path: 'input.facts.2.when' }],
    });
    const stranger = await world.animal(await world.keeper('Far House'), taxon);
    const foreign = await test.ask(
      RECORD,
      { input: { facts: [facts[0], { animalId: stranger, seen: true }] } },
      keeper.token,
    );
    expect(foreign.errors?.[0]?.extensions).toMatchObject({
      code: 'NOT_FOUND',
      fields: [{ path: 'input.facts.1.animalId' }],
    });
    expect(await count([a])).toBe(before);
    expect(await entries(a)).toEqual([]);
  });

  it('takes 1 to 100', async () => {
    const a = await world.animal(keeper, taxon);
    const many = (length: number) => Array.from({ length }, () => ({ animalId: a, seen: true }));
    for (const length of [0, 101]) {
      const answer = await test.ask(RECORD, { input: { facts: many(length) } }, keeper.token);
      expect(answer.errors?.[0]?.extensions.fields.map(({ path }) => path)).toEqual(['input.facts']);
    }
    const done = await test.get<Recorded>(RECORD, { input: { facts: many(100) } }, keeper.token);
    expect(done.recordFacts.facts).toHaveLength(100);
  });

  it('a repeated call with its key gives the first answer and writes once; another body with that key is refused', async () => {
    const a = await world.animal(keeper, taxon);
    const headers = { 'idempotency-key': randomUUID() };
    const input = {
      facts: [
        { animalId: a, weightGrams: 42 },
        { animalId: a, seen: true },
      ],
    };
    const first = await test.get<Recorded>(RECORD, { input }, keeper.token, headers);
    const again = await test.get<Recorded>(RECORD, { input }, keeper.token, headers);
    expect(again.recordFacts.facts.map((each) => each.factId)).toEqual(
      first.recordFacts.facts.map((each) => each.factId),
    );
    expect(await count([a])).toBe(2);
    expect(await entries(a)).toHaveLength(1);
    const other = { facts: [{ animalId: a, weightGrams: 43 }] };
    const refused = await test.ask(RECORD, { input: other }, keeper.token, headers);
    expect(refused.errors?.[0]?.extensions).toMatchObject({ code: 'RULE_REFUSED', rule: 'IDEMPOTENCY_KEY_REUSED' });
    expect(await count([a])).toBe(2);
  });

  it('the same key at two servers at once writes once', async () => {
    const a = await world.animal(keeper, taxon);
    const clients = [createPrismaClient(test.databaseUrl, 2), createPrismaClient(test.databaseUrl, 2)];
    try {
      const viewer = {
        accountId: keeper.accountId,
        keepers: [{ keeperId: keeper.keeperId, role: 'owner' as const }],
        clubIds: [],
        offices: [],
        requestId: randomUUID(),
        idempotencyKey: randomUUID(),
      };
      const fact = { kind: 'weight' as const, body: { grams: 42 } };
      const command = { animalId: a, fact, when: exactDay(day('2026-06-01')), reason: undefined };
      const servers = clients.map((client) => new RecordFacts(new UnitOfWork(client, new Clock())));
      const answers = await Promise.all(
        [...servers, ...servers].map((server) => server.many(viewer, [command, command])),
      );
      expect(new Set(answers.map((answer) => JSON.stringify(answer))).size).toBe(1);
      expect(await count([a])).toBe(2);
      expect(await entries(a)).toHaveLength(1);
    } finally {
      for (const client of clients) await client.$disconnect();
    }
  });
});
