import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** Who may see and write quarantine: those who act for the keeper, and nobody learns from the answer whether it exists. */
describe('quarantine is the keeper’s own', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let helper: TestKeeper;
  let groupId: string;
  let animalId: string;
  const others: Record<string, TestKeeper> = {};

  beforeAll(async () => {
    test = await startTestApp();
    test.setDay('2026-06-10');
    world = new RegistryWorld(test);
    keeper = await world.keeper('Anke');
    helper = await world.keeper('Helper');
    for (const name of ['stranger', 'club-mate', 'owner', 'former helper', 'past keeper'])
      others[name] = await world.keeper(name);
    const { owner, stranger } = others;
    const mate = others['club-mate'];
    const former = others['former helper'];
    const past = others['past keeper'];
    if (!owner || !stranger || !mate || !former || !past) throw new Error('A role is missing.');
    await world.club(keeper, mate);
    const since = new Date('2026-01-01');
    await world.db.keeperMember.createMany({
      data: [
        { keeperId: keeper.keeperId, accountId: helper.accountId, role: 'helper', since },
        {
          keeperId: keeper.keeperId,
          accountId: former.accountId,
          role: 'helper',
          since,
          endedAt: new Date('2026-02-01'),
        },
      ],
    });
    animalId = await world.animal(keeper, await world.taxon(), { since: '2026-05-01' });
    await world.db.animalAccess.createMany({
      data: [
        { id: uuid(), animalId, keeperId: owner.keeperId, relation: 'owner', validFrom: new Date('2026-05-01') },
        {
          ...{ id: uuid(), animalId, keeperId: past.keeperId, relation: 'holder', validFrom: new Date('2026-04-01') },
          validTo: new Date('2026-05-01'),
          readsUntil: new Date('2026-12-31'),
        },
      ],
    });
    const input = { keeperId: keeper.keeperId, animalIds: [animalId], enteredOn: '2026-06-01' };
    groupId = (await open(input, helper)).data?.openQuarantine.quarantine.id ?? '';
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const open = (input: object, who: TestKeeper) =>
    test.ask<{ openQuarantine: { quarantine: { id: string } } }>(
      'mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }',
      { input },
      who.token,
    );
  const join = (input: object, who: TestKeeper) =>
    test.ask(
      'mutation ($input: JoinQuarantineInput!) { joinQuarantine(input: $input) { quarantine { id } } }',
      { input },
      who.token,
    );
  const release = (input: object, who: TestKeeper) =>
    test.ask(
      'mutation ($input: ReleaseQuarantineInput!) { releaseQuarantine(input: $input) { quarantine { id } } }',
      { input },
      who.token,
    );
  const list = (keeperId: string, who: TestKeeper) =>
    test.ask<{ quarantines: { edges: { node: { id: string } }[] } }>(
      'query ($keeperId: ID!) { quarantines(keeperId: $keeperId) { edges { node { id } } } }',
      { keeperId },
      who.token,
    );
  const errorOf = ({ errors }: { errors?: { message: string; extensions: { code: string } }[] }) =>
    errors?.map(({ message, extensions }) => [extensions.code, message]);

  it('a helper opens and lists; the group is found in the list', async () => {
    for (const who of [keeper, helper]) {
      const answer = await list(keeper.keeperId, who);
      expect(answer.data?.quarantines.edges.map(({ node }) => node.id)).toEqual([groupId]);
    }
  });

  it.each(['stranger', 'club-mate', 'owner', 'former helper', 'past keeper'])(
    'a %s gets the answer of what does not exist',
    async (name) => {
      const who = others[name] ?? keeper;
      const enteredOn = '2026-06-05';
      const nowhere = uuid();
      expect(errorOf(await list(keeper.keeperId, who))).toEqual(errorOf(await list(nowhere, who)));
      expect(errorOf(await list(keeper.keeperId, who))?.[0]?.[0]).toBe('NOT_FOUND');
      const joining = (group: string) => join({ groupId: group, animalIds: [animalId], enteredOn }, who);
      expect(errorOf(await joining(groupId))).toEqual(errorOf(await joining(nowhere)));
      const releasing = (group: string) => release({ groupId: group, on: enteredOn, reason: 'a reason' }, who);
      expect(errorOf(await releasing(groupId))).toEqual(errorOf(await releasing(nowhere)));
      const opening = (keeperId: string, id: string) => open({ keeperId, animalIds: [id], enteredOn }, who);
      expect(errorOf(await opening(keeper.keeperId, animalId))).toEqual(errorOf(await opening(nowhere, animalId)));
      expect(errorOf(await opening(who.keeperId, animalId))).toEqual(errorOf(await opening(who.keeperId, nowhere)));
      expect(errorOf(await opening(who.keeperId, animalId))?.[0]?.[0]).toBe('NOT_FOUND');
    },
  );

  it.each([
    ['owner', true],
    ['club-mate', false],
    ['past keeper', false],
  ] as const)('on the animal, a %s sees it: %s', async (name, seen) => {
    const document = 'query ($id: ID!) { animal(id: $id) { quarantine { until } } }';
    const answer = await test.get<{ animal: { quarantine: { until: string } | null } }>(
      document,
      { id: animalId },
      (others[name] ?? keeper).token,
    );
    expect(answer.animal.quarantine).toEqual(seen ? { until: '2026-07-31' } : null);
  });

  it('nobody without a sign-in gets that far', async () => {
    const answer = await test.ask('query ($id: ID!) { quarantines(keeperId: $id) { edges { cursor } } }', {
      id: keeper.keeperId,
    });
    expect(answer.errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  });
});
