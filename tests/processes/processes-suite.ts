import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { isDrained } from '../fault/fault-checks.js';
import { type LiveClient } from '../support/live-client.js';
import { PASSWORD, type Person, ProcessesWorld, type Server } from './processes-world.js';

const TRANSFERS = `subscription ($k: ID!) { transferChanged(keeperId: $k) { transfer { id state } } }`;
const THREADS = `subscription ($k: ID!) { threadChanged(keeperId: $k) { thread { id unread } } }`;
const NOTICES = `subscription { noticeArrived { unread notice { id kind } } }`;
type Transfer = { id: string; state: string };
type TransferEvent = { transferChanged: { transfer: Transfer | null } };
type ThreadEvent = { threadChanged: { thread: { id: string; unread: number } | null } };
type NoticeEvent = { noticeArrived: { unread: number; notice: { id: string; kind: string } | null } };

/** Milliseconds in which a process takes up what its client follows. */
const A_WHILE = 1_000;
/** A job a killed worker had in hand comes back when its lock has run out and two checks have passed: about 20 seconds. */
const PATIENCE = 60_000;

/** What several processes on one database owe their keepers, whatever the queue. Call inside a `describe`. */
export function processesSuite(redisUrl: string | undefined): void {
  let world: ProcessesWorld;
  let giver: Person;
  let receiver: Person;
  let stranger: Person;
  /** Processes at which somebody has followed something since they started. */
  const listening = new Set<Server>();
  beforeAll(async () => {
    world = await ProcessesWorld.start(redisUrl);
    giver = await world.person(world.b, 'Giving House');
    receiver = await world.person(world.a, 'Taking House');
    stranger = await world.person(world.a, 'Strange House');
    await world.club(giver, receiver);
  });
  afterAll(async () => {
    // Nothing ended but by a kill of ours.
    if (world !== undefined) expect(await world.close()).toBe(0);
  });

  /** What a person follows of its keeper at a process: the ids of its subscriptions. */
  async function follow(server: Server, who: Person) {
    const socket = await world.connect(server, who.token);
    const ids = {
      transfers: socket.subscribe(TRANSFERS, { k: who.keeperId }),
      threads: socket.subscribe(THREADS, { k: who.keeperId }),
      notices: socket.subscribe(NOTICES),
    };
    // That a process follows is not said. It listens to the database from the first time somebody follows there.
    listening.add(server);
    await world.untilListening(listening.size);
    await sleep(A_WHILE);
    return { socket, ids };
  }
  async function offer(server: Server): Promise<string> {
    const animalId = await world.animal(server, giver);
    const { offerTransfer } = await world.get<{ offerTransfer: { transfer: Transfer } }>(
      server,
      `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
      { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [{ animalId }] },
      giver.token,
    );
    return offerTransfer.transfer.id;
  }
  async function withdraw(server: Server, transferId: string): Promise<void> {
    await world.get(
      server,
      `mutation ($input: WithdrawTransferInput!) { withdrawTransfer(input: $input) { transfer { id } } }`,
      { transferId },
      giver.token,
    );
  }
  async function write(server: Server, name: string, input: object, who: Person): Promise<string> {
    const document = `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { thread { id } } }`;
    const answer = await world.get<Record<string, { thread: { id: string } }>>(server, document, input, who.token);
    return answer[name]?.thread.id ?? '';
  }
  /** What the receiver reads at a process: its transfers, oldest first, and its notices, newest first. */
  async function read(server: Server) {
    const { myTransfers, notices } = await world.get<{
      myTransfers: { edges: { node: Transfer }[] };
      notices: { edges: { node: { id: string; kind: string; read: boolean } }[] };
    }>(
      server,
      `query { myTransfers(keeperId: "${receiver.keeperId}", first: 100) { edges { node { id state } } }
               notices(keeperId: "${receiver.keeperId}", first: 100) { edges { node { id kind read } } } }`,
      {},
      receiver.token,
    );
    return {
      transfers: myTransfers.edges.map(({ node }) => node).toReversed(),
      notices: notices.edges.map(({ node }) => node),
    };
  }
  async function drained(): Promise<void> {
    for (const end = Date.now() + PATIENCE; !(await isDrained(world.db)); await sleep(50))
      if (Date.now() > end) throw new Error(`Messages were left over. ${world.worker.lastWords}`);
  }
  const heardTransfers = (socket: LiveClient, id: string) =>
    socket.events<TransferEvent>(id).map(({ transferChanged }) => transferChanged.transfer);
  /** Until the last event about notices says what the lists say, which a reader of both would see. */
  async function noticesAgree(server: Server, socket: LiveClient, id: string) {
    await drained();
    const { notices } = await read(server);
    const last = { unread: notices.filter((notice) => !notice.read).length, notice: notices[0]?.id };
    const heard = () => socket.events<NoticeEvent>(id).map(({ noticeArrived }) => noticeArrived);
    for (const end = Date.now() + PATIENCE; Date.now() < end; await sleep(20)) {
      const { unread, notice } = heard().at(-1) ?? {};
      if (unread === last.unread && notice?.id === last.notice) break;
    }
    const newest = heard().at(-1);
    expect({ unread: newest?.unread, notice: newest?.notice?.id }).toEqual(last);
    const listed = new Set(notices.map(({ id: noticeId }) => noticeId));
    expect(heard().filter(({ notice }) => notice === null || !listed.has(notice.id))).toEqual([]);
    return notices;
  }

  it('what is done through one process is heard at another, in order, by those whose it is, and reads the same', async () => {
    const at = await follow(world.a, receiver);
    const far = await follow(world.a, stranger);
    const [first, second] = [await offer(world.b), await offer(world.b)];
    await at.socket.hear(at.ids.transfers, 2);
    await withdraw(world.b, first);
    await at.socket.hear(at.ids.transfers, 3);
    expect(heardTransfers(at.socket, at.ids.transfers)).toEqual([
      { id: first, state: 'offered' },
      { id: second, state: 'offered' },
      { id: first, state: 'withdrawn' },
    ]);
    const animalId = await world.animal(world.a, receiver);
    const threadId = await write(world.b, 'askHolder', { animalId, message: 'Is he free?' }, giver);
    await at.socket.hear(at.ids.threads, 1);
    await write(world.b, 'answerThread', { threadId, message: 'Until May?' }, giver);
    const threads = await at.socket.hear<ThreadEvent>(at.ids.threads, 2);
    expect(threads.map(({ threadChanged }) => threadChanged.thread)).toEqual([
      { id: threadId, unread: 1 },
      { id: threadId, unread: 2 },
    ]);
    const notices = await noticesAgree(world.b, at.socket, at.ids.notices);
    expect(notices.filter(({ kind }) => kind === 'transfer_offered')).toHaveLength(2);
    expect((await read(world.a)).transfers).toEqual([
      { id: first, state: 'withdrawn' },
      { id: second, state: 'offered' },
    ]);
    expect(Object.values(far.ids).flatMap((id) => far.socket.events(id))).toEqual([]);
  });

  it('a process is killed: its clients come to another, read what they missed, and hear what follows', async () => {
    const at = await follow(world.a, receiver);
    await world.a.process.killAndRestart();
    listening.delete(world.a);
    expect((await at.socket.closed).code).toBe(1006);
    const missed = await offer(world.b);
    const again = await follow(world.b, receiver);
    expect((await read(world.b)).transfers.at(-1)).toEqual({ id: missed, state: 'offered' });
    const next = await offer(world.b);
    await again.socket.hear(again.ids.transfers, 1);
    // What was before is read, and not told as if it were new.
    expect(heardTransfers(again.socket, again.ids.transfers)).toEqual([{ id: next, state: 'offered' }]);
    // The process that was killed is back and hears like the other.
    await world.a.process.ready();
    const back = await follow(world.a, receiver);
    await withdraw(world.b, missed);
    await Promise.all([again.socket.hear(again.ids.transfers, 2), back.socket.hear(back.ids.transfers, 1)]);
    expect(heardTransfers(back.socket, back.ids.transfers)).toEqual([{ id: missed, state: 'withdrawn' }]);
  });

  it('the worker is killed in between: no notice is lost or doubled, and no mail', async () => {
    const at = await follow(world.a, receiver);
    const offers: string[] = [];
    for (let round = 0; round < 2; round += 1) {
      offers.push(await offer(world.b), await offer(world.b));
      // Wherever it is with them.
      await world.worker.killAndRestart();
      await world.worker.ready();
    }
    await world.worker.stop();
    offers.push(await offer(world.b));
    world.mailingWorker.start();
    await world.mailingWorker.ready();
    await noticesAgree(world.b, at.socket, at.ids.notices);
    const written = await world.db.notice.findMany({
      where: { keeperId: receiver.keeperId, kind: 'transfer_offered' },
    });
    const told = written.map(({ body }) => (body as { transferId: string }).transferId);
    for (const transferId of offers) expect(told.filter((id) => id === transferId)).toEqual([transferId]);
    expect(new Set(told).size).toBe(told.length);

    const mails = () => world.db.mailMessage.findMany({ where: { accountId: receiver.accountId, kind: 'notice' } });
    const ofKeeper = await world.db.notice.count({ where: { keeperId: receiver.keeperId } });
    expect(await mails()).toHaveLength(ofKeeper);
    const waiting = () => world.db.mailMessage.count({ where: { sentAt: null } });
    for (const end = Date.now() + PATIENCE; (await waiting()) > 0 && Date.now() < end;) await sleep(100);
    expect(await waiting()).toBe(0);
    expect(world.mailed).toHaveLength(await world.db.mailMessage.count());
    expect(new Set(world.mailed).size).toBe(world.mailed.length);
  });

  it('a sign-in is one at every process: begun, renewed, ended', async () => {
    const tokens = 'accessToken refreshToken';
    type Tokens = { accessToken: string; refreshToken: string };
    const signIn = `mutation ($input: SignInInput!) { signIn(input: $input) { ${tokens} } }`;
    const credentials = { email: receiver.email, password: PASSWORD };
    const { signIn: begun } = await world.get<{ signIn: Tokens }>(world.a, signIn, credentials);
    const lost = await world.connect(world.a, begun.accessToken);
    const kept = await world.connect(world.a, receiver.token);
    const renew = `mutation ($input: RenewSessionInput!) { renewSession(input: $input) { ${tokens} } }`;
    const { refreshToken } = begun;
    const { renewSession: renewed } = await world.get<{ renewSession: Tokens }>(world.b, renew, { refreshToken });
    const me = '{ me { accountId } }';
    expect(await world.get(world.a, me, {}, renewed.accessToken)).toEqual({ me: { accountId: receiver.accountId } });
    await world.get(world.b, 'mutation { endSession(input: {}) { sessionId } }', {}, renewed.accessToken);
    expect(await lost.closed).toEqual({ code: 4401, reason: 'This sign-in is over' });
    for (const server of [world.a, world.b]) {
      const { errors } = await world.ask(server, me, {}, renewed.accessToken);
      expect(errors?.[0]?.extensions?.code).toBe('UNAUTHENTICATED');
    }
    kept.send({ type: 'ping' });
    await kept.until(({ type }) => type === 'pong');
  });

  it('wrong passwords are counted over all processes', async () => {
    const wrong = { email: stranger.email, password: 'not the password' };
    const signIn = `mutation ($input: SignInInput!) { signIn(input: $input) { accessToken } }`;
    const codes: (string | undefined)[] = [];
    for (let tried = 0; tried < 7; tried += 1) {
      const { errors } = await world.ask(tried % 2 === 0 ? world.a : world.b, signIn, wrong);
      codes.push(errors?.[0]?.extensions?.code);
    }
    // Five a minute: the sixth is refused at one process and the seventh at the other, though neither saw five.
    expect(codes).toEqual([...Array<string>(5).fill('UNAUTHENTICATED'), 'RATE_LIMITED', 'RATE_LIMITED']);
  });
}
