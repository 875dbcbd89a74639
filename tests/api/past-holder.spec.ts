import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { lockAnimals } from '../../libs/animal/index.js';
import { handOver, type Holder, reassign, setOwners } from '../../libs/custody/index.js';
import { day, decide } from '../../libs/kernel/index.js';
import { lockLineage, replaceClaim } from '../../libs/lineage/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const ANIMAL = `query ($id: ID) { animal(id: $id) { viewerLevel name sex lastSeenOn count holder { label } sire { id }
  weights { edges { node { grams } } } marks { value } inbreeding { value } ancestors { path } } }`;
type Animal = {
  viewerLevel: string;
  name: string | null;
  sex: string;
  count: number;
  holder: { label: string } | null;
  sire: { id: string } | null;
  weights: { edges: { node: { grams: number } }[] };
  inbreeding: { value: number } | null;
  ancestors: { path: string }[] | null;
};
type Book = {
  opening: number;
  closing: number;
  unaccounted: number;
  arrivals: { edges: { node: { count: number; cause: string; counterparty: string | null } }[] };
  departures: { edges: { node: { count: number; cause: string; counterparty: string | null } }[] };
};

describe('after an animal has gone on', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let uow: UnitOfWork;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    uow = new UnitOfWork(world.db, new Clock());
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const give = (animalId: string, to: Extract<Holder, { kind: 'keeper' | 'outside_party' }>, on = '2026-03-01') =>
    uow.writeAsServer(null, async (tx) => {
      await lockAnimals(tx, [animalId]);
      const moved = await handOver(tx, { animalId, to, on: day(on), leftBy: 'given', arrivedBy: 'received' });
      return moved.ok ? setOwners(tx, { animalId, from: day(on), shares: [{ owner: to, parts: 1 }] }) : moved;
    });
  const record = (keeper: TestKeeper, input: object) =>
    test.get(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input },
      keeper.token,
    );
  const read = async (id: string, keeper: TestKeeper) =>
    (await test.get<{ animal: Animal }>(ANIMAL, { id }, keeper.token)).animal;
  const book = async (keeper: TestKeeper) =>
    (
      await test.get<{ stockBook: Book }>(
        `query ($k: ID!) { stockBook(keeperId: $k, from: "2026-02-01", asOf: "2026-06-30") { opening closing unaccounted
           arrivals { edges { node { count cause counterparty } } } departures { edges { node { count cause counterparty } } } } }`,
        { k: keeper.keeperId },
        keeper.token,
      )
    ).stockBook;

  it('the giver reads what was recorded until then, the receiver the whole record', async () => {
    const [giver, receiver] = [await world.keeper('Giver House'), await world.keeper('Receiver House')];
    const taxon = await world.taxon();
    const sire = await world.animal(giver, taxon, { sex: 'male' });
    const id = await world.animal(giver, taxon, { name: 'Before', since: '2026-01-01' });
    await record(giver, { animalId: id, weightGrams: 10, when: '2026-01-02' });
    await give(id, { kind: 'keeper', keeperId: receiver.keeperId });
    await record(receiver, { animalId: id, weightGrams: 20 });
    await record(receiver, { animalId: id, name: 'After' });
    await record(receiver, { animalId: id, sex: { sex: 'female' } });
    const grams = (animal: Animal) => animal.weights.edges.map((edge) => edge.node.grams);
    const past = await read(id, giver);
    expect(past).toMatchObject({
      viewerLevel: 'past',
      name: 'Before',
      sex: 'unknown',
      count: 1,
      holder: null,
      inbreeding: { value: 0 },
    });
    expect(grams(past)).toEqual([10]);
    const now = await read(id, receiver);
    expect(now).toMatchObject({
      viewerLevel: 'full',
      name: 'After',
      sex: 'female',
      holder: { label: 'Receiver House' },
    });
    expect(grams(now)).toEqual([20, 10]);
    const refused = await test.ask(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input: { animalId: id, seen: true } },
      giver.token,
    );
    expect(refused.errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    // A parent recorded after the animal left is not the past holder's to read, and neither are numbers that would tell it.
    await world.db.animalAccess.create({
      data: {
        id: uuid(),
        animalId: sire,
        keeperId: receiver.keeperId,
        relation: 'receiver',
        validFrom: new Date('2026-03-01'),
      },
    });
    await test.get(
      `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
      { input: { animalId: id, role: 'sire', parentId: sire, reason: 'genetic test', basis: 'genetic_test' } },
      receiver.token,
    );
    expect((await read(id, receiver)).sire?.id).toBe(sire);
    expect(await read(id, giver)).toMatchObject({ sire: null, inbreeding: null, ancestors: null });
  });

  it.each(['candidates', 'a merge'] as const)(
    '%s recorded of an ancestor since are not the giver’s to read',
    async (what) => {
      const [giver, receiver] = [await world.keeper('Giver House'), await world.keeper('Receiver House')];
      const taxon = await world.taxon();
      const dam = await world.animal(giver, taxon, { sex: 'female', since: '2026-01-01' });
      const id = await world.animal(giver, taxon, { damId: dam, since: '2026-01-01' });
      const others = [
        await world.animal(receiver, taxon, { sex: 'male' }),
        await world.animal(receiver, taxon, { sex: 'male' }),
      ];
      const again = await world.animal(receiver, taxon, { sex: 'female', sireId: others[0], since: '2026-01-01' });
      for (const each of [id, dam]) await give(each, { kind: 'keeper', keeperId: receiver.keeperId });
      expect(await read(id, giver)).toMatchObject({ inbreeding: { value: 0 }, ancestors: [{ path: 'd' }] });
      if (what === 'a merge') {
        await test.get(
          `mutation ($input: MergeRecordsInput!) { mergeRecords(input: $input) { animal { id } } }`,
          { input: { keepId: again, mergeId: dam, reason: 'one transponder' } },
          receiver.token,
        );
        expect((await read(id, receiver)).ancestors?.map(({ path }) => path)).toEqual(['d', 'ds']);
      } else {
        await uow.writeAsServer(null, async (tx) => {
          await lockLineage(tx, taxon);
          const candidates = others.map((parentId) => ({ parentId, probability: 0.5 }));
          const claim = { role: 'sire' as const, basis: 'shared_enclosure' as const, candidates };
          return decide(String(await replaceClaim(tx, { id: dam, taxonId: taxon }, 'sire', claim, 'A test.')));
        });
        expect((await read(id, receiver)).inbreeding).toEqual({ value: 0 });
      }
      expect(await read(id, giver)).toMatchObject({ inbreeding: null, ancestors: null });
    },
  );

  it('the giver’s book keeps the buyer’s name as written, also after the take-up, and balances on both sides', async () => {
    const [giver, buyer] = [await world.keeper('Show House'), await world.keeper('Real Name')];
    const id = await world.lot(giver, await world.taxon(), 6, { since: '2026-01-01' });
    const outsidePartyId = uuid();
    await world.db.outsideParty.create({
      data: { id: outsidePartyId, recordedFor: giver.keeperId, name: 'Lady with the hat', createdAt: new Date() },
    });
    await give(id, { kind: 'outside_party', outsidePartyId });
    const gone = {
      opening: 6,
      closing: 0,
      unaccounted: 0,
      arrivals: { edges: [] },
      departures: { edges: [{ node: { count: 6, cause: 'given', counterparty: 'Lady with the hat' } }] },
    };
    expect(await book(giver)).toEqual(gone);
    await uow.writeAsServer(null, async (tx) => {
      await lockAnimals(tx, [id]);
      expect(await reassign(tx, { outsidePartyId, keeperId: buyer.keeperId })).toEqual([id]);
      return { ok: true, value: null };
    });
    expect(await book(giver)).toEqual(gone);
    expect(await book(buyer)).toMatchObject({
      opening: 0,
      closing: 6,
      unaccounted: 0,
      arrivals: { edges: [{ node: { count: 6, cause: 'taken_up', counterparty: 'Show House' } }] },
      departures: { edges: [] },
    });
    expect(await read(id, buyer)).toMatchObject({ viewerLevel: 'full', count: 6, holder: { label: 'Real Name' } });
  });

  it('is refused before the present holder had it, to the same holder, and on a day to come', async () => {
    const [giver, receiver] = [await world.keeper('Early House'), await world.keeper('Late House')];
    const id = await world.animal(giver, await world.taxon(), { since: '2026-02-01' });
    const to = { kind: 'keeper', keeperId: receiver.keeperId } as const;
    await expect(give(id, to, '2026-01-31')).rejects.toMatchObject({ rule: 'CUSTODY_DAY_TOO_EARLY' });
    await expect(give(id, to, '2999-01-01')).rejects.toMatchObject({ rule: 'DAY_IN_FUTURE' });
    await expect(give(id, { kind: 'keeper', keeperId: giver.keeperId })).rejects.toMatchObject({
      rule: 'CUSTODY_SAME_HOLDER',
    });
    expect((await read(id, giver)).viewerLevel).toBe('full');
  });
});
