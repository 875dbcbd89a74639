import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { type NestFastifyApplication } from '@nestjs/platform-fastify';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { JwtService } from '@nestjs/jwt';
import { createApp } from '../../apps/api/src/create-app.js';
import { CONFIG, type Config } from '../../libs/platform/config/index.js';
import { MAX_ALIASES, MAX_DEPTH } from '../../libs/platform/graphql/document-limits.js';
import { LiveChanges } from '../../libs/platform/live/live-changes.js';
import { MOST_BYTES, MOST_OPERATIONS, MOST_SOCKETS_AN_ACCOUNT } from '../../libs/platform/live/live-limits.js';
import { LiveClient } from '../support/live-client.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const TRANSFERS = `subscription ($k: ID!) { transferChanged(keeperId: $k) { transfer { id state viewerCan { accept withdraw } } } }`;
const THREADS = `subscription ($k: ID!) { threadChanged(keeperId: $k) { thread { id unread other messages { edges { node { mine text } } } } } }`;
const NOTICES = `subscription { noticeArrived { keeperId unread notice { kind read } } }`;
type TransferEvent = {
  transferChanged: {
    transfer: { id: string; state: string; viewerCan: { accept: boolean; withdraw: boolean } } | null;
  };
};
type ThreadEvent = { threadChanged: { thread: { id: string; unread: number; other: string } | null } };
type NoticeEvent = {
  noticeArrived: { keeperId: string; unread: number; notice: { kind: string; read: boolean } | null };
};

/** Two applications on one database: what is done at the first is heard at the second. */
let test: TestApp;
let second: NestFastifyApplication;
const apps: NestFastifyApplication[] = [];
let urls: [string, string];
let world: RegistryWorld;
let giver: TestKeeper;
let receiver: TestKeeper;
let stranger: TestKeeper;
let taxonId: string;
const open: LiveClient[] = [];

beforeAll(async () => {
  test = await startTestApp();
  await test.app.listen(0, '127.0.0.1');
  second = await createApp(test.app.get<Config>(CONFIG));
  await second.listen(0, '127.0.0.1');
  apps.push(test.app, second);
  urls = [await test.app.getUrl(), await second.getUrl()];
  world = new RegistryWorld(test);
  [giver, receiver, stranger] = [
    await world.keeper('Giving House'),
    await world.keeper('Taking House'),
    await world.keeper('Strange House'),
  ];
  await world.club(giver, receiver);
  taxonId = await world.taxon();
});
afterAll(async () => {
  await Promise.all(open.map((client) => client.close()));
  await second.close();
  await world.close();
  await test.close();
});

async function connect(keeper: TestKeeper, url = urls[1]): Promise<LiveClient> {
  const client = await new LiveClient(url).greet(keeper.token);
  open.push(client);
  return client;
}

/** Subscribes and waits until a server follows: nothing is sent to say so. */
async function follow(client: LiveClient, query: string, variables: object = {}): Promise<string> {
  const before = new Set(followers());
  const id = client.subscribe(query, variables);
  for (const end = Date.now() + 30_000; Date.now() < end; await sleep(10))
    if (followers().some((follower) => !before.has(follower))) return id;
  throw new Error(`Nothing follows; what came: ${JSON.stringify(client.messages)}`);
}
/** Those who follow anything at any server. */
const followers = () =>
  apps.flatMap((app) =>
    [...app.get(LiveChanges, { strict: false })['followers'].values()].flatMap((some) => [...some]),
  );

async function offer(to: TestKeeper = receiver): Promise<string> {
  const animalId = await world.animal(giver, taxonId);
  const answer = await test.get<{ offerTransfer: { transfer: { id: string } } }>(
    `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
    { input: { fromKeeperId: giver.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [{ animalId }] } },
    giver.token,
  );
  return answer.offerTransfer.transfer.id;
}

async function step(name: 'accept' | 'withdraw', transferId: string, who: TestKeeper): Promise<void> {
  await test.get(
    `mutation ($input: ${name === 'accept' ? 'Accept' : 'Withdraw'}TransferInput!) { ${name}Transfer(input: $input) { transfer { id } } }`,
    { input: { transferId } },
    who.token,
  );
}

describe('live queries', () => {
  it('what one server writes is heard at the other, through each side’s own eyes', async () => {
    const [at, from] = [await connect(receiver), await connect(giver)];
    const heard = await follow(at, TRANSFERS, { k: receiver.keeperId });
    const sent = await follow(from, TRANSFERS, { k: giver.keeperId });
    const id = await offer();
    const [offered] = await at.hear<TransferEvent>(heard);
    expect(offered?.transferChanged.transfer).toEqual({
      id,
      state: 'offered',
      viewerCan: { accept: true, withdraw: false },
    });
    await step('accept', id, receiver);
    const events = await from.hear<TransferEvent>(sent, 2);
    expect(events.map(({ transferChanged }) => transferChanged.transfer?.state)).toEqual(['offered', 'accepted']);
    expect(events[0]?.transferChanged.transfer?.viewerCan).toEqual({ accept: false, withdraw: true });
  });

  it('a stranger hears nothing, and cannot follow somebody else’s keeper', async () => {
    const client = await connect(stranger);
    const own = await follow(client, TRANSFERS, { k: stranger.keeperId });
    const notices = await follow(client, NOTICES);
    const foreign = client.subscribe(TRANSFERS, { k: receiver.keeperId });
    const refusal = await client.until(({ id }) => id === foreign);
    expect(refusal.payload).toMatchObject({ errors: [{ extensions: { code: 'NOT_FOUND' } }] });
    await client.until(({ id, type }) => id === foreign && type === 'complete');
    const witness = await connect(receiver);
    const seen = await follow(witness, TRANSFERS, { k: receiver.keeperId });
    await offer();
    await witness.hear(seen);
    await sleep(200);
    expect([client.events(own), client.events(notices)]).toEqual([[], []]);
  });

  it('who does not act for the keeper any more hears no more, not even an id', async () => {
    const helper = await world.keeper('Helping House');
    const member = { keeperId: receiver.keeperId, accountId: helper.accountId };
    await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date() } });
    const client = await connect(helper);
    const id = await follow(client, TRANSFERS, { k: receiver.keeperId });
    await offer();
    await client.hear(id, 1);
    await world.db.keeperMember.update({ where: { keeperId_accountId: member }, data: { endedAt: new Date() } });
    await offer();
    await client.until((message) => message.id === id && message.type === 'complete');
    expect(client.events(id)).toHaveLength(1);
  });

  it('threads are heard by the other side, with the messages as they are then', async () => {
    const client = await connect(receiver);
    const id = await follow(client, THREADS, { k: receiver.keeperId });
    const animalId = await world.animal(receiver, taxonId);
    const { askHolder } = await test.get<{ askHolder: { thread: { id: string } } }>(
      `mutation ($input: AskHolderInput!) { askHolder(input: $input) { thread { id } } }`,
      { input: { animalId, keeperId: giver.keeperId, message: 'Is he free?' } },
      giver.token,
    );
    await client.hear(id, 1);
    const write = `mutation ($input: AnswerThreadInput!) { answerThread(input: $input) { thread { id } } }`;
    await test.get(write, { input: { threadId: askHolder.thread.id, message: 'Until May.' } }, receiver.token);
    const [first, answered] = await client.hear<ThreadEvent>(id, 2);
    expect(first?.threadChanged.thread).toMatchObject({ id: askHolder.thread.id, unread: 1 });
    // Each event has loaders and a viewer of its own: the second shows what was written since.
    expect(answered?.threadChanged.thread).toMatchObject({
      messages: { edges: [{ node: { mine: false } }, { node: { mine: true, text: 'Until May.' } }] },
    });
    const before = client.events(id).length;
    const read = `mutation ($input: MarkThreadReadInput!) { markThreadRead(input: $input) { thread { id } } }`;
    await test.get(read, { input: { threadId: askHolder.thread.id } }, giver.token);
    await sleep(300);
    // That the other side has read is not told.
    expect(client.events(id)).toHaveLength(before);
  });

  it('a notice is heard by every account of its keeper', async () => {
    const client = await connect(receiver);
    const id = await follow(client, NOTICES);
    await world.db.notice.create({
      data: {
        id: randomUUID(),
        keeperId: receiver.keeperId,
        kind: 'club_membership_ended',
        body: {},
        dedupeKey: randomUUID(),
        createdAt: new Date(Date.now() + 60_000),
      },
    });
    const [event] = await client.hear<NoticeEvent>(id);
    expect(event?.noticeArrived).toMatchObject({
      keeperId: receiver.keeperId,
      notice: { kind: 'club_membership_ended', read: false },
    });
    expect(event?.noticeArrived.unread).toBeGreaterThan(0);
  });

  it('what is rolled back is never heard', async () => {
    const client = await connect(receiver);
    const id = await follow(client, TRANSFERS, { k: receiver.keeperId });
    const kept = await offer();
    await client.hear(id);
    await world.db
      .$transaction(async (db) => {
        await db.$executeRaw`UPDATE transfer SET version = version + 1 WHERE id = ${kept}::uuid`;
        throw new Error('undone');
      })
      .catch(() => undefined);
    await sleep(300);
    expect(client.events(id)).toHaveLength(1);
  });

  it('the connection that listens is cut: it comes back and says that something may have been missed', async () => {
    const client = await connect(receiver);
    const id = await follow(client, TRANSFERS, { k: receiver.keeperId });
    const listeners = await world.db.$queryRaw<{ cut: boolean }[]>`
      SELECT pg_terminate_backend(pid) AS cut FROM pg_stat_activity
      WHERE datname = current_database() AND application_name = 'kithbook live'`;
    // Each process has one; the first listens as soon as somebody follows there.
    expect(listeners.length).toBeGreaterThan(0);
    const [hint] = await client.hear<TransferEvent>(id);
    expect(hint?.transferChanged.transfer).toBeNull();
    const made = await offer();
    const events = await client.hear<TransferEvent>(id, 2);
    expect(events[1]?.transferChanged.transfer?.id).toBe(made);
  });
});

describe('who may open a socket, and for how long', () => {
  it.each([
    ['no token', undefined],
    ['a token that is none', 'nonsense'],
  ])('%s: closed with 4401', async (_, token) => {
    const client = await new LiveClient(urls[1]).greet(token);
    expect((await client.closed).code).toBe(4401);
  });

  it('a token that lapses closes the socket in time, with a code after which clients come back', async () => {
    const { token } = giver;
    const { sub, sid } = test.app.get(JwtService, { strict: false }).decode<{ sub: string; sid: string }>(token);
    const short = await test.app.get(JwtService, { strict: false }).signAsync({ sub, sid }, { expiresIn: 5 });
    const client = await connect({ ...giver, token: short });
    expect(client.messages[0]?.type).toBe('connection_ack');
    expect((await client.closed).code).toBe(4403);
    const late = await new LiveClient(urls[1]).greet(short);
    expect((await late.closed).code).toBe(4403);
  });

  it('the end of the session cuts its sockets on every server at once, and no others', async () => {
    const other = await connect(stranger);
    const client = await connect(receiver);
    const { token } = await signInAgain();
    const lost = await connect({ ...receiver, token });
    await follow(lost, TRANSFERS, { k: receiver.keeperId });
    await test.get(`mutation { endSession(input: {}) { sessionId } }`, {}, token);
    expect(await lost.closed).toEqual({ code: 4401, reason: 'This sign-in is over' });
    for (const still of [other, client]) still.send({ type: 'ping' });
    for (const still of [other, client]) await still.until(({ type }) => type === 'pong');
  });

  /** A second sign-in of the receiver, as on a telephone. */
  async function signInAgain(): Promise<{ token: string }> {
    const { email } = await world.db.account.findUniqueOrThrow({ where: { id: receiver.accountId } });
    const input = { email, password: 'a long enough password' };
    const { signIn } = await test.get<{ signIn: { accessToken: string } }>(
      `mutation ($input: SignInInput!) { signIn(input: $input) { accessToken } }`,
      { input },
    );
    return { token: signIn.accessToken };
  }
});

describe('limits of a socket', () => {
  const deep = `subscription ($k: ID!) { transferChanged(keeperId: $k) { transfer { items { animal { ${'sire { '.repeat(MAX_DEPTH)}id${' }'.repeat(MAX_DEPTH)} } } } } }`;
  const aliases = Array.from({ length: MAX_ALIASES + 1 }, (_, n) => `a${n}: id`).join(' ');
  it.each([
    ['a query', '{ me { email } }'],
    ['a mutation', 'mutation { endSession(input: {}) { sessionId } }'],
    ['two operations', `${NOTICES.replace('subscription', 'subscription A')} query B { me { email } }`],
    [
      'two fields',
      `subscription ($k: ID!) { noticeArrived { unread } transferChanged(keeperId: $k) { transfer { id } } }`,
    ],
    ['more depth than allowed', deep],
    [
      'more aliases than allowed',
      `subscription ($k: ID!) { transferChanged(keeperId: $k) { transfer { ${aliases} } } }`,
    ],
    ['more tokens than allowed', `subscription { noticeArrived { ${'unread '.repeat(3000)} } }`],
    ['what does not parse', 'subscription {'],
    ['a field that is not there', 'subscription { noticeArrived { secret } }'],
    ['a variable that is missing', TRANSFERS],
    [
      'lists in lists',
      `subscription { threadChanged(keeperId: "x") { thread { ${Array.from({ length: 10 }, (_, n) => `m${n}: messages(first: 100) { edges { node { id text mine sentAt a: id b: id c: text d: text e: text f: text g: text } } }`).join(' ')} } } }`,
    ],
  ])('%s: refused before anything runs', async (_, document) => {
    const client = await connect(receiver);
    const id = client.subscribe(
      document,
      document.includes('$k') && document !== TRANSFERS ? { k: receiver.keeperId } : {},
    );
    const { payload } = await client.until((message) => message.id === id && message.type === 'error');
    expect(payload).toMatchObject([
      { extensions: { code: 'INVALID_INPUT', requestId: expect.stringMatching(/^[0-9a-f-]{36}$/) as unknown } },
    ]);
    await client.close();
  });

  it(`carries ${MOST_OPERATIONS} subscriptions`, async () => {
    const client = await connect(receiver);
    const ids = Array.from({ length: MOST_OPERATIONS + 1 }, () => client.subscribe(NOTICES));
    await client.until(({ id, type }) => id === ids.at(-1) && type === 'error');
    expect(client.messages.filter(({ type }) => type === 'error')).toHaveLength(1);
    await client.close();
  });

  it('takes no message that is too large, and not too many of them', async () => {
    const large = await connect(receiver);
    large.send({ type: 'ping', payload: { text: 'x'.repeat(MOST_BYTES) } });
    expect((await large.closed).code).toBe(1009);
    const fast = await connect(receiver);
    for (let n = 0; n < 200; n += 1) fast.send({ type: 'ping' });
    expect((await fast.closed).code).toBe(4429);
  });

  it(`${MOST_SOCKETS_AN_ACCOUNT} of an account in one process`, async () => {
    const keeper = await world.keeper('Many Windows');
    const sockets = [];
    for (let n = 0; n < MOST_SOCKETS_AN_ACCOUNT; n += 1) sockets.push(await connect(keeper));
    const more = await new LiveClient(urls[1]).greet(keeper.token);
    expect((await more.closed).code).toBe(4429);
    await Promise.all(sockets.map((socket) => socket.close()));
    const again = await connect(keeper);
    expect(again.messages[0]?.type).toBe('connection_ack');
  });

  it('nobody says who they are: closed; another path or protocol: not opened', async () => {
    const silent = new LiveClient(urls[1]);
    expect((await new LiveClient(urls[1], { path: '/elsewhere' }).closed).code).toBe(1006);
    expect((await new LiveClient(urls[1], { protocol: 'graphql-ws' }).closed).code).not.toBe(1000);
    expect((await silent.closed).code).toBe(4408);
  });
});

it('a server that stops says goodbye to its sockets and does not wait for them', async () => {
  const third = await createApp(test.app.get<Config>(CONFIG));
  apps.push(third);
  await third.listen(0, '127.0.0.1');
  const url = await third.getUrl();
  const client = await connect(receiver, url);
  await follow(client, NOTICES);
  const began = Date.now();
  await third.close();
  expect(Date.now() - began).toBeLessThan(5_000);
  expect((await client.closed).code).toBe(1001);
  expect((await new LiveClient(url).closed).code).toBe(1006);
});
