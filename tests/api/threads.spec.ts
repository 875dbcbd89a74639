import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { exportDocument } from '../../libs/exchange/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let asker: TestKeeper;
let holder: TestKeeper;
let other: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;

const FIELDS = `id side other otherKeeperId revealed closedAt closedBy unread animal { id } aboutAnimal { id }
  messages { edges { node { mine text } } }`;
type Thread = {
  id: string;
  side: string;
  other: string;
  otherKeeperId: string | null;
  revealed: boolean;
  closedBy: string | null;
  unread: number;
  animal: { id: string } | null;
  aboutAnimal: { id: string } | null;
  messages: { edges: { node: { mine: boolean; text: string } }[] };
};

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [asker, holder, other, stranger] = [
    await world.keeper('Asking House'),
    await world.keeper('Hidden House'),
    await world.keeper('Other House'),
    await world.keeper('Strange House'),
  ];
  // Five members: in a smaller club ‘a keeper of your club’ would name one.
  await world.club(asker, holder, other, await world.keeper('Fourth House'), await world.keeper('Fifth House'));
  taxonId = await world.taxon();
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

const write = (name: string, input: object, keeper: TestKeeper) =>
  test.ask<Record<string, { thread: Thread }>>(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { thread { ${FIELDS} } } }`,
    { input },
    keeper.token,
  );
const done = async (name: string, input: object, keeper: TestKeeper): Promise<Thread> => {
  const answer = await write(name, input, keeper);
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
  return answer.data?.[name]?.thread as Thread;
};
const read = async (id: string, keeper: TestKeeper) =>
  test.ask<{ thread: Thread }>(`query ($id: ID!) { thread(id: $id) { ${FIELDS} } }`, { id }, keeper.token);
const unread = async (keeper: TestKeeper) =>
  (await test.get<{ unreadThreadMessages: number }>(`{ unreadThreadMessages }`, {}, keeper.token)).unreadThreadMessages;
const rule = (answer: { errors?: { extensions: { rule?: string; code: string } }[] }) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code ?? 'ok';
const notices = async (keeper: TestKeeper) =>
  world.db.notice.findMany({ where: { keeperId: keeper.keeperId }, orderBy: { createdAt: 'asc' } });

describe('asking a hidden holder', () => {
  it('tells neither side who the other is until the one who was asked shows both names', async () => {
    const male = await world.animal(holder, taxonId, { sex: 'male' });
    const female = await world.animal(asker, taxonId, { sex: 'female' });
    const opened = await done(
      'askHolder',
      { animalId: male, aboutAnimalId: female, message: '  Is he free in spring?  ' },
      asker,
    );
    expect(opened).toMatchObject({
      side: 'asker',
      other: 'A keeper',
      otherKeeperId: null,
      revealed: false,
      unread: 0,
      animal: { id: male },
      aboutAnimal: { id: female },
      messages: { edges: [{ node: { mine: true, text: 'Is he free in spring?' } }] },
    });
    const { data } = await read(opened.id, holder);
    expect(data?.thread).toMatchObject({
      side: 'holder',
      other: 'A keeper of your club',
      otherKeeperId: null,
      unread: 1,
      animal: { id: male },
      aboutAnimal: null,
      messages: { edges: [{ node: { mine: false, text: 'Is he free in spring?' } }] },
    });
    // Nothing that went to either side, mails included, names the other or holds an id of theirs.
    const toHolder = JSON.stringify([
      data,
      await notices(holder),
      await world.db.mailMessage.findMany({ where: { accountId: holder.accountId } }),
    ]);
    for (const secret of ['Asking House', asker.keeperId, asker.accountId, female])
      expect(toHolder).not.toContain(secret);
    expect(toHolder).toContain('A keeper asks about one of your animals');
    expect(JSON.stringify(await world.db.mailMessage.findMany({ where: { accountId: holder.accountId } }))).not.toMatch(
      /free in spring|House/,
    );

    const unnamed = await done('answerThread', { threadId: opened.id, message: 'From April on.' }, holder);
    expect(unnamed).toMatchObject({ revealed: false, other: 'A keeper of your club', unread: 0 });
    const seen = await read(opened.id, asker);
    expect(seen.data?.thread).toMatchObject({ other: 'A keeper', unread: 1 });
    const toAsker = JSON.stringify([seen.data, await notices(asker)]);
    for (const secret of ['Hidden House', holder.keeperId, holder.accountId]) expect(toAsker).not.toContain(secret);

    expect(rule(await write('answerThread', { threadId: opened.id, message: 'I am …', reveal: true }, asker))).toBe(
      'THREAD_HOLDER_REVEALS',
    );
    await done('answerThread', { threadId: opened.id, message: 'Call me.', reveal: true }, holder);
    expect((await read(opened.id, asker)).data?.thread).toMatchObject({
      revealed: true,
      other: 'Hidden House',
      otherKeeperId: holder.keeperId,
      unread: 2,
    });
    expect((await read(opened.id, holder)).data?.thread).toMatchObject({
      other: 'Asking House',
      otherKeeperId: asker.keeperId,
      aboutAnimal: { id: female },
    });
    expect(await unread(asker)).toBe(2);
    await done('markThreadRead', { threadId: opened.id }, asker);
    expect(await unread(asker)).toBe(0);

    const entries = await world.db.ledgerEntry.findMany({ where: { subjects: { has: opened.id } } });
    expect(entries.map(({ action }) => action).sort()).toEqual([
      'thread.answered',
      'thread.answered',
      'thread.opened',
      'thread.read',
    ]);
    expect(JSON.stringify(entries.map(({ body }) => body))).not.toMatch(/spring|April|Call me|House/);
  });

  it('is one thread at a time, which either side can end; who was asked is then left alone for a while', async () => {
    const male = await world.animal(holder, taxonId, { sex: 'male' });
    const ask = () => write('askHolder', { animalId: male, message: 'A question.' }, asker);
    const first = (await ask()).data?.['askHolder']?.thread as Thread;
    const again = await ask();
    expect(rule(again)).toBe('THREAD_OPEN');
    expect(again.errors?.[0]?.extensions.blockers[0]?.id).toBe(first.id);
    expect(await done('closeThread', { threadId: first.id }, asker)).toMatchObject({ closedBy: 'asker' });
    const second = (await ask()).data?.['askHolder']?.thread as Thread;
    await done('closeThread', { threadId: second.id }, holder);
    expect(rule(await write('answerThread', { threadId: second.id, message: 'But …' }, asker))).toBe('THREAD_CLOSED');
    expect(rule(await write('closeThread', { threadId: second.id }, asker))).toBe('THREAD_CLOSED');
    expect(rule(await ask())).toBe('THREAD_CLOSED_LATELY');
    await world.db.askThread.update({
      where: { id: second.id },
      data: { closedAt: new Date(Date.now() - 31 * 86_400_000) },
    });
    expect(rule(await ask())).toBe('ok');
    expect((await notices(holder)).map(({ kind }) => kind)).toContain('thread_closed');
  });

  it('does not exist for anybody else, nor for one who may not see the animal', async () => {
    const male = await world.animal(holder, taxonId, { sex: 'male' });
    const thread = await done('askHolder', { animalId: male, message: 'A question.' }, asker);
    for (const keeper of [other, stranger]) {
      expect(rule(await read(thread.id, keeper))).toBe('NOT_FOUND');
      for (const name of ['answerThread', 'closeThread', 'markThreadRead'])
        expect(
          rule(
            await write(name, { threadId: thread.id, ...(name === 'answerThread' ? { message: 'x' } : {}) }, keeper),
          ),
        ).toBe('NOT_FOUND');
    }
    const answer = await write('askHolder', { animalId: male, message: 'x' }, stranger);
    const nothing = await write(
      'askHolder',
      { animalId: '01900000-0000-7000-8000-000000000000', message: 'x' },
      stranger,
    );
    expect([rule(answer), rule(nothing)]).toEqual(['NOT_FOUND', 'NOT_FOUND']);
    expect(answer.errors?.[0]?.message).toBe(nothing.errors?.[0]?.message);
    const foreign = await world.animal(other, taxonId, { sex: 'female' });
    expect(rule(await write('askHolder', { animalId: foreign, aboutAnimalId: male, message: 'x' }, asker))).toBe(
      'NOT_FOUND',
    );
    expect(rule(await write('askHolder', { animalId: male, message: 'x' }, holder))).toBe('ASK_OWN_ANIMAL');
    expect(rule(await read('nonsense', asker))).toBe('NOT_FOUND');
  });

  it('stays with the keeper who was asked when the animal goes on; one who gave it away does not ask', async () => {
    const male = await world.animal(holder, taxonId, { sex: 'male' });
    const thread = await done('askHolder', { animalId: male, message: 'A question.' }, asker);
    await world.db.animalAccess.updateMany({
      where: { animalId: male, keeperId: holder.keeperId },
      data: { validTo: new Date(), readsUntil: new Date() },
    });
    await world.db.custody.updateMany({ where: { animalId: male }, data: { keeperId: other.keeperId } });
    await world.db.animalAccess.create({
      data: {
        id: crypto.randomUUID(),
        animalId: male,
        keeperId: other.keeperId,
        relation: 'holder',
        validFrom: new Date(),
      },
    });
    expect(rule(await read(thread.id, other))).toBe('NOT_FOUND');
    expect((await read(thread.id, holder)).data?.thread).toMatchObject({ side: 'holder', animal: { id: male } });
    expect(rule(await write('answerThread', { threadId: thread.id, message: 'He has gone on.' }, holder))).toBe('ok');
    expect(rule(await write('askHolder', { animalId: male, message: 'x' }, holder))).toBe('ASK_NO_LONGER_YOURS');
  });

  it('takes messages of 1 to 2,000 characters, three without an answer', async () => {
    const male = await world.animal(holder, taxonId, { sex: 'male' });
    for (const message of ['', '   ', 'x'.repeat(2001)]) {
      const answer = await write('askHolder', { animalId: male, message }, asker);
      expect(answer.errors?.[0]?.extensions.fields[0]?.path).toBe('input.message');
    }
    const { id } = await done('askHolder', { animalId: male, message: 'x'.repeat(2000) }, asker);
    for (const text of ['two', 'three']) await done('answerThread', { threadId: id, message: text }, asker);
    expect(rule(await write('answerThread', { threadId: id, message: 'four' }, asker))).toBe('THREAD_AWAITS_ANSWER');
    await done('answerThread', { threadId: id, message: 'yes' }, holder);
    expect(rule(await write('answerThread', { threadId: id, message: 'four' }, asker))).toBe('ok');
  });

  it('is listed for both sides, last written in first, page by page', async () => {
    type Page = { edges: { node: { id: string } }[]; pageInfo: { hasNextPage: boolean; endCursor: string } };
    const pageOf = async (keeper: TestKeeper, after: string | null): Promise<Page> =>
      (
        await test.get<{ threads: Page }>(
          `query ($after: String) { threads(first: 2, after: $after) { edges { node { id } } pageInfo { hasNextPage endCursor } } }`,
          { after },
          keeper.token,
        )
      ).threads;
    const list = async (keeper: TestKeeper): Promise<string[]> => {
      const found: string[] = [];
      let page = await pageOf(keeper, null);
      for (;;) {
        found.push(...page.edges.map(({ node }) => node.id));
        if (!page.pageInfo.hasNextPage) return found;
        page = await pageOf(keeper, page.pageInfo.endCursor);
      }
    };
    const mine = await list(asker);
    const stored = await world.db.askThread.findMany({
      where: { askerKeeperId: asker.keeperId },
      orderBy: [{ lastMessageAt: 'desc' }, { id: 'desc' }],
    });
    expect(stored.length).toBeGreaterThan(5);
    expect(mine).toEqual(stored.map(({ id }) => id));
    expect((await list(holder)).toSorted()).toEqual(
      (await world.db.askThread.findMany({ where: { holderKeeperId: holder.keeperId } }))
        .map(({ id }) => id)
        .toSorted(),
    );
    expect(await list(stranger)).toEqual([]);
  });

  it('is in the export of either side, with a name only where both are shown', async () => {
    const take = async (keeper: TestKeeper) => {
      const { exportMyData } = await test.get<{ exportMyData: { json: string } }>(
        `query ($k: ID!) { exportMyData(keeperId: $k) { json } }`,
        { k: keeper.keeperId },
        keeper.token,
      );
      return exportDocument.parse(JSON.parse(exportMyData.json)).threads;
    };
    const mine = await take(asker);
    const first = mine.find(({ messages }) => messages[0]?.text === 'Is he free in spring?');
    expect(first).toMatchObject({ side: 'asker', other: 'Hidden House', closedAt: null });
    expect(first?.messages.map(({ own, text }) => [own, text])).toEqual([
      [true, 'Is he free in spring?'],
      [false, 'From April on.'],
      [false, 'Call me.'],
    ]);
    expect(mine.filter((thread) => thread !== first).every(({ other: name }) => name === null)).toBe(true);
    const theirs = await take(holder);
    expect(theirs.filter(({ other: name }) => name !== null).map(({ other: name }) => name)).toEqual(['Asking House']);
    expect(theirs).toHaveLength(mine.length);
  });

  it('is begun at most twenty times a day', async () => {
    const eager = await world.keeper('Eager House');
    await world.club(eager, holder);
    const animals: string[] = [];
    for (let i = 0; i < 21; i += 1) animals.push(await world.animal(holder, taxonId, { sex: 'male' }));
    const outcomes: string[] = [];
    for (const animalId of animals) outcomes.push(rule(await write('askHolder', { animalId, message: 'Hm?' }, eager)));
    expect(outcomes).toEqual([...Array<string>(20).fill('ok'), 'RATE_LIMITED']);
    const refused = await write('askHolder', { animalId: animals[20], message: 'Hm?' }, eager);
    expect(refused.errors?.[0]?.message).toMatch(/Try again in \d+ minutes/);
  }, 60_000);
});

it('in a club of two, or of four, is not called a keeper of it: that would name the only other', async () => {
  const [one, two] = [await world.keeper('One'), await world.keeper('Two')];
  const clubId = await world.club(one, two);
  const animalId = await world.animal(two, taxonId);
  const { id } = await done('askHolder', { animalId, message: 'Is he free?' }, one);
  const name = async () => (await read(id, two)).data?.thread.other;
  const join = async () =>
    world.db.clubMember.create({
      data: { id: uuid(), clubId, keeperId: (await world.keeper('More')).keeperId, joinedOn: new Date('2025-01-01') },
    });
  expect(await name()).toBe('A keeper who sees this animal');
  await join();
  await join();
  expect(await name()).toBe('A keeper who sees this animal');
  await join();
  expect(await name()).toBe('A keeper of your club');
});
