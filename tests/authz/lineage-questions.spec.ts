import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { lockAnimals } from '../../libs/animal/index.js';
import { handOver, setOwners } from '../../libs/custody/index.js';
import { day } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const DESCENDANTS = `query ($id: ID!) { animal(id: $id) { descendants(generations: 20) {
  edges { cursor node { generation share shown animal { id name registerNumber } } } } } }`;
const RELATIONSHIP = `query ($a: ID!, $b: ID!) { relationship(a: $a, b: $b) { kinship words
  sharedAncestors { share shown animal { id } } } }`;

type Found = { animal: { descendants: { edges: { node: { shown: boolean; animal: { id: string } | null } }[] } } };

describe('what questions about lineage tell of animals that are not shown', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let asker: TestKeeper;
  let hider: TestKeeper;
  let taxon: string;
  /** Animals of the keeper who shares nothing: the sire of `first` and `second`, and an offspring of `dam`. */
  let hidden: { sire: string; young: string };
  let own: { dam: string; granddam: string; first: string; second: string };
  const secrets: string[] = ['CANARY'];
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    [asker, hider] = [await world.keeper('Open House'), await world.keeper('Closed House')];
    await world.club(asker, hider);
    taxon = await world.taxon();
    const granddam = await world.animal(asker, taxon, { sex: 'female', name: 'Granddam' });
    const dam = await world.animal(asker, taxon, { sex: 'female', name: 'Dam' });
    const sire = await world.animal(hider, taxon, { sex: 'male', name: 'CANARY-SIRE', damId: granddam });
    const first = await world.animal(asker, taxon, { name: 'First', sireId: sire, damId: dam });
    const second = await world.animal(asker, taxon, { name: 'Second', sireId: sire });
    const young = await world.animal(hider, taxon, { name: 'CANARY-YOUNG', damId: dam });
    await world.animal(hider, taxon, { name: 'CANARY-GRANDYOUNG', damId: young });
    await world.db.keeper.update({ where: { id: hider.keeperId }, data: { lineageShared: false } });
    [hidden, own] = [
      { sire, young },
      { dam, granddam, first, second },
    ];
    for (const { id, registerNumber } of await world.db.animal.findMany({ where: { name: { startsWith: 'CANARY' } } }))
      secrets.push(id, registerNumber, registerNumber.replace(/^(...)(...)(...)$/, '$1-$2-$3'));
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const svg = async (path: string, keeper: TestKeeper = asker) => {
    const answer = await test.http().get(path).set('authorization', `Bearer ${keeper.token}`).buffer(true);
    return { status: answer.status, text: Buffer.isBuffer(answer.body) ? answer.body.toString() : answer.text };
  };
  const expectNoSecret = (text: string) => expect(secrets.filter((secret) => text.includes(secret))).toEqual([]);

  it('a chart shows that an ancestor is there, what is known beyond it, and not who it is', async () => {
    const { status, text } = await svg(`/animals/${own.first}/pedigree.svg`);
    expect(status).toBe(200);
    expect(text).toContain('not shown');
    expect(text).toContain('Granddam');
    expectNoSecret(text);
    // The names are there to be found: their keeper's chart has them.
    expect((await svg(`/animals/${hidden.sire}/pedigree.svg`, hider)).text).toContain('CANARY-SIRE');
  });

  it('descendants stand in the list without identity, also in their cursors', async () => {
    const found = await test.get<Found>(DESCENDANTS, { id: own.dam }, asker.token);
    const nodes = found.animal.descendants.edges.map(({ node }) => node);
    expect(nodes.map(({ shown, animal }) => [shown, animal?.id ?? null])).toEqual([
      [true, own.first],
      [false, null],
      [false, null],
    ]);
    expectNoSecret(JSON.stringify(found));
    const cursors = (JSON.stringify(found).match(/"cursor":"[^"]*"/g) ?? []).map((cursor) =>
      Buffer.from(cursor.slice(10, -1), 'base64url').toString(),
    );
    expect(cursors).toHaveLength(3);
    expectNoSecret(cursors.join(' '));
    expectNoSecret(cursors.join(' ').replaceAll('-', ''));
  });

  it('a relationship tells how much comes through an ancestor, and not who it is', async () => {
    const { relationship } = await test.get<{ relationship: object }>(
      RELATIONSHIP,
      { a: own.first, b: own.second },
      asker.token,
    );
    expect(relationship).toMatchObject({
      kinship: 0.125,
      words: 'half siblings through the sire',
      sharedAncestors: [{ share: 1, shown: false, animal: null }],
    });
    expectNoSecret(JSON.stringify(relationship));
  });

  it('a kinship map with one of them is answered as if that one did not exist', async () => {
    const bare = (text: string) => text.replace(/"requestId":"[^"]*"/, '');
    const [seen, absent] = [
      await svg(`/kinship.svg?animals=${own.first},${hidden.sire}`),
      await svg(`/kinship.svg?animals=${own.first},018f0000-0000-7000-8000-000000000000`),
    ];
    expect(seen.status).toBe(404);
    expect(seen.text).toContain('No animal with this id is visible to you.');
    expect(bare(seen.text)).toBe(bare(absent.text));
    const number = secrets[2] ?? '';
    expect(bare((await svg(`/kinship.svg?animals=${own.first},${number}`)).text)).toBe(bare(absent.text));
    expect(bare((await svg(`/animals/${number}/pedigree.svg`)).text)).toBe(bare(absent.text));
  });

  it('a past holder reads descendants as recorded when the animal left, and no chart once its ancestors changed', async () => {
    const [giver, receiver] = [await world.keeper('Giver House'), await world.keeper('Receiver House')];
    const other = await world.taxon();
    const given = await world.animal(giver, other, { name: 'Given', since: '2026-01-01' });
    const before = await world.animal(giver, other, { name: 'Before', sireId: given });
    const uow = new UnitOfWork(world.db, new Clock());
    const to = { kind: 'keeper', keeperId: receiver.keeperId } as const;
    await uow.writeAsServer(null, async (tx) => {
      await lockAnimals(tx, [given]);
      const moved = await handOver(tx, {
        animalId: given,
        to,
        on: day('2026-03-01'),
        leftBy: 'given',
        arrivedBy: 'received',
      });
      return moved.ok
        ? setOwners(tx, { animalId: given, from: day('2026-03-01'), shares: [{ owner: to, parts: 1 }] })
        : moved;
    });
    await world.animal(receiver, other, { name: 'CANARY-AFTER', sireId: given });
    const correct = (animalId: string, parentId: string | null, keeper: TestKeeper) =>
      test.get(
        `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
        { input: { animalId, role: 'sire', parentId, reason: 'a slip', basis: 'declared' } },
        keeper.token,
      );
    const ids = async (keeper: TestKeeper) =>
      (await test.get<Found>(DESCENDANTS, { id: given }, keeper.token)).animal.descendants.edges.map(
        ({ node }) => node.animal?.id ?? null,
      );
    expect(await ids(giver)).toEqual([before]);
    expect(await ids(receiver)).toHaveLength(2);
    // What was corrected since was otherwise then; the giver goes on reading it so.
    await correct(before, null, giver);
    expect(await ids(giver)).toEqual([before]);
    expect(await ids(receiver)).toHaveLength(1);

    expect((await svg(`/animals/${given}/pedigree.svg`, giver)).status).toBe(200);
    await correct(given, await world.animal(receiver, other, { name: 'CANARY-LATE' }), receiver);
    const refused = await svg(`/animals/${given}/pedigree.svg`, giver);
    expect(refused.status).toBe(409);
    expect(refused.text).toContain('LINEAGE_CHANGED_SINCE');
    expect(refused.text).not.toContain('CANARY');
    expect((await svg(`/animals/${given}/pedigree.svg`, receiver)).text).toContain('CANARY-LATE');
  });
});
