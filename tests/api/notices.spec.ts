import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { StopLinks } from '../../libs/membership/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let own: TestKeeper;
let other: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [own, other] = [await world.keeper('Own House'), await world.keeper('Other House')];
});
afterAll(async () => {
  await world.close();
  await test.close();
});

async function notice(keeperId: string): Promise<string> {
  const id = randomUUID();
  await world.db.notice.create({
    data: { id, keeperId, kind: 'thread_closed', body: {}, dedupeKey: id, createdAt: new Date() },
  });
  return id;
}
const mark = (input: object, keeper = own) =>
  test.ask<{ markNoticesRead: { unread: number } }>(
    `mutation ($input: MarkNoticesReadInput!) { markNoticesRead(input: $input) { keeperId unread } }`,
    { input },
    keeper.token,
  );
const unread = async (keeperId: string, { token } = own) =>
  (await test.ask<{ unreadNotices: number }>(`query ($k: ID!) { unreadNotices(keeperId: $k) }`, { k: keeperId }, token))
    .data?.unreadNotices;
const choose = (choices: object[], { token } = own) =>
  test.ask<{ chooseMails: { mailChoices: { group: string; pace: string }[] } }>(
    `mutation ($input: ChooseMailsInput!) { chooseMails(input: $input) { mailChoices { group pace } } }`,
    { input: { choices } },
    token,
  );
const paces = async ({ token } = own) => {
  const { mailChoices } = await test.get<{ mailChoices: { group: string; pace: string }[] }>(
    '{ mailChoices { group pace } }',
    {},
    token,
  );
  return Object.fromEntries(mailChoices.map(({ group, pace }) => [group, pace]));
};

describe('reading notices', () => {
  it('is counted by account, one by one or all at once, and twice counts once', async () => {
    const helper = await world.keeper('Helping House');
    const member = { keeperId: own.keeperId, accountId: helper.accountId, role: 'helper' as const, since: new Date() };
    await world.db.keeperMember.create({ data: member });
    const ids = [await notice(own.keeperId), await notice(own.keeperId), await notice(own.keeperId)];
    expect(await unread(own.keeperId)).toBe(3);
    const once = await mark({ keeperId: own.keeperId, noticeIds: [ids[0]] });
    expect(once.data?.markNoticesRead.unread).toBe(2);
    expect((await mark({ keeperId: own.keeperId, noticeIds: [ids[0]] })).data?.markNoticesRead.unread).toBe(2);
    const { notices } = await test.get<{ notices: { edges: { node: { id: string; read: boolean } }[] } }>(
      `query ($k: ID!) { notices(keeperId: $k) { edges { node { id read } } } }`,
      { k: own.keeperId },
      own.token,
    );
    expect(notices.edges.filter(({ node }) => node.read).map(({ node }) => node.id)).toEqual([ids[0]]);
    expect((await mark({ keeperId: own.keeperId })).data?.markNoticesRead.unread).toBe(0);
    expect(await unread(own.keeperId, helper)).toBe(3);
    const entries = await world.db.ledgerEntry.findMany({ where: { action: 'account.notices-read' } });
    expect(entries.map(({ body }) => (JSON.parse(body) as { count: number }).count)).toEqual([1, 2]);
  });

  it('is of own keepers only: others’ notices are not found, and not touched by their ids', async () => {
    const foreign = await notice(other.keeperId);
    expect((await mark({ keeperId: other.keeperId })).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    await mark({ keeperId: own.keeperId, noticeIds: [foreign] });
    expect(await unread(other.keeperId, other)).toBe(1);
    expect(await unread(other.keeperId)).toBeUndefined();
  });
});

describe('choosing mails', () => {
  it('holds for the groups that are named; at once is what stands where nothing was chosen', async () => {
    expect(new Set(Object.values(await paces()))).toEqual(new Set(['at_once']));
    await choose([
      { group: 'transfers', pace: 'none' },
      { group: 'documents', pace: 'daily' },
    ]);
    const answer = await choose([{ group: 'transfers', pace: 'daily' }]);
    expect(answer.errors).toBeUndefined();
    expect(await paces()).toMatchObject({ transfers: 'daily', documents: 'daily', threads: 'at_once' });
    expect(new Set(Object.values(await paces(other)))).toEqual(new Set(['at_once']));
  });

  it('names each group once', async () => {
    const twice = [
      { group: 'marks', pace: 'none' },
      { group: 'marks', pace: 'daily' },
    ];
    for (const choices of [[], twice])
      expect((await choose(choices)).errors?.[0]?.extensions.fields[0]?.path).toBe('input.choices');
  });
});

describe('the link of a mail', () => {
  const path = (stops: 'transfers' | 'origins' | 'digest', accountId = own.accountId) =>
    new URL(test.app.get(StopLinks, { strict: false }).linkFor({ accountId, stops })).pathname;

  it('opened, it asks and changes nothing: programs open links by themselves', async () => {
    await choose([{ group: 'transfers', pace: 'at_once' }]);
    const page = await test.http().get(path('transfers'));
    expect(page.status).toBe(200);
    expect(page.text).toContain('<form method="post">');
    expect(page.headers['cache-control']).toBe('no-store');
    expect(await paces()).toMatchObject({ transfers: 'at_once' });
  });

  // RFC 8058 section 3.2: the body is a form of either kind, and nobody is signed in.
  it.each([
    ['a form', 'application/x-www-form-urlencoded', 'List-Unsubscribe=One-Click'],
    [
      'a form in parts',
      'multipart/form-data; boundary=x',
      '--x\r\nContent-Disposition: form-data; name="List-Unsubscribe"\r\n\r\nOne-Click\r\n--x--\r\n',
    ],
  ])('one click with %s ends its group, for its account, and nothing else; twice is once', async (_, type, body) => {
    await choose([
      { group: 'origins', pace: 'at_once' },
      { group: 'transfers', pace: 'daily' },
    ]);
    const before = { ...(await paces()) };
    for (let n = 0; n < 2; n += 1) {
      const answer = await test.http().post(path('origins')).set('content-type', type).send(body);
      expect([answer.status, answer.text.includes('No more of these mails')]).toEqual([200, true]);
    }
    expect(await paces()).toEqual({ ...before, origins: 'none' });
    expect((await paces(other))['origins']).toBe('at_once');
  });

  it('of a daily mail ends what is mailed daily', async () => {
    await choose([
      { group: 'transfers', pace: 'daily' },
      { group: 'documents', pace: 'daily' },
      { group: 'marks', pace: 'at_once' },
    ]);
    await test.http().post(path('digest'));
    expect(await paces()).toMatchObject({ transfers: 'none', documents: 'none', marks: 'at_once' });
  });

  it('that is not whole, or nobody’s, ends nothing', async () => {
    await choose([{ group: 'transfers', pace: 'at_once' }]);
    const whole = path('transfers');
    for (const broken of [whole.slice(0, -3), whole.replace('transfers', 'documents'), '/mails/stop/x']) {
      for (const answer of [await test.http().get(broken), await test.http().post(broken)]) {
        expect(answer.status).toBe(404);
        expect(answer.text).toContain('This link is not good');
      }
    }
    expect((await test.http().post(path('transfers', randomUUID()))).status).toBe(200);
    expect(await paces()).toMatchObject({ transfers: 'at_once' });
  });
});
