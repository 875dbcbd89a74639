import { randomBytes, randomUUID } from 'node:crypto';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { SMTPServer } from 'smtp-server';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { ApiClient } from '../fault/api-client.js';
import { freePort } from '../fault/fault-run.js';
import { insertTaxon, registerAnimal } from '../fault/fault-world.js';
import { Victim } from '../fault/victim.js';
import { LiveClient } from '../support/live-client.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';
import { wipeRedis } from '../support/wipe-redis.js';

/** One API process and where it answers. */
export type Server = { readonly process: Victim; readonly url: string };
export type Person = { readonly keeperId: string; readonly accountId: string; readonly email: string; token: string };
type Answer<T> = { data?: T | null; errors?: { extensions?: { code?: string } }[] };

export const PASSWORD = 'a long enough password';

/** Two API processes and one worker on a database of their own, and a mail server. */
export class ProcessesWorld {
  readonly a: Server;
  readonly b: Server;
  /** The worker that writes notices; mails stay where they are while this one works. */
  readonly worker: Victim;
  /** The same, and sends mails. */
  readonly mailingWorker: Victim;
  taxonId = '';
  private readonly sockets: LiveClient[] = [];

  private constructor(
    private readonly database: TestDatabase,
    readonly db: PrismaClient,
    private readonly folder: string,
    private readonly redisUrl: string | undefined,
    private readonly mail: { readonly server: SMTPServer; readonly taken: readonly string[] },
    ports: readonly [number, number],
  ) {
    const secretFile = join(folder, 'secret');
    writeFileSync(secretFile, randomBytes(32).toString('hex'));
    const process = (name: string, script: string, more: Record<string, string>) => {
      const shared = { DATABASE_URL: database.url, AUTH_SECRET_FILE: secretFile, DATA_DIR: folder };
      const queue = redisUrl === undefined ? {} : { REDIS_URL: redisUrl };
      return new Victim({ name, script, env: { ...shared, ...queue, ...more } });
    };
    const api = (name: string, port: number): Server => ({
      process: process(name, 'dist/apps/api/src/main.js', { PORT: String(port) }),
      url: `http://127.0.0.1:${port}`,
    });
    [this.a, this.b] = [api('A', ports[0]), api('B', ports[1])];
    const { port } = this.mail.server.server.address() as AddressInfo;
    const toMailServer = { SMTP_URL: `smtp://127.0.0.1:${port}`, MAIL_FROM: 'registry@example.org' };
    this.worker = process('worker', 'dist/apps/worker/src/main.js', {});
    this.mailingWorker = process('mailing worker', 'dist/apps/worker/src/main.js', toMailServer);
  }

  static async start(redisUrl: string | undefined): Promise<ProcessesWorld> {
    const database = await createTestDatabase();
    const taken: string[] = [];
    const mail = { server: takeMails(taken), taken };
    await once(mail.server.server, 'listening');
    const folder = mkdtempSync(join(tmpdir(), 'kithbook-processes-'));
    const ports: [number, number] = [await freePort(), await freePort()];
    const client = createPrismaClient(database.url, 2);
    const world = new ProcessesWorld(database, client, folder, redisUrl, mail, ports);
    try {
      const first = [world.a.process, world.b.process, world.worker];
      for (const one of first) one.start();
      await Promise.all(first.map((one) => one.ready()));
      world.taxonId = await insertTaxon(client);
      return world;
    } catch (error) {
      await world.close();
      throw error;
    }
  }

  /** Everything that ran ended, none by itself. */
  async close(): Promise<number> {
    await Promise.all(this.sockets.map((socket) => socket.close()));
    const all = [this.a.process, this.b.process, this.worker, this.mailingWorker];
    await Promise.all(all.map((one) => one.stop()));
    await this.db.$disconnect();
    await this.database.drop();
    if (this.redisUrl !== undefined) await wipeRedis(this.redisUrl, this.database.url);
    await new Promise<void>((resolve) => this.mail.server.close(resolve));
    rmSync(this.folder, { recursive: true, force: true });
    return all.reduce((sum, { falls }) => sum + falls, 0);
  }

  /** Ids of the mails the mail server took. */
  get mailed(): readonly string[] {
    return this.mail.taken;
  }

  async person(server: Server, keeperName: string): Promise<Person> {
    const email = `${randomUUID()}@example.org`;
    const { openAccount } = await this.get<{
      openAccount: { keeperId: string; accountId: string; accessToken: string };
    }>(
      server,
      `mutation ($input: OpenAccountInput!) { openAccount(input: $input) { keeperId accountId accessToken } }`,
      { email, password: PASSWORD, keeperName },
    );
    const { keeperId, accountId, accessToken: token } = openAccount;
    await this.db.account.update({ where: { id: accountId }, data: { emailConfirmedAt: new Date() } });
    return { keeperId, accountId, email, token };
  }

  /** A club of them, so that each can ask for the other's animals. */
  async club(...members: readonly Person[]): Promise<void> {
    const id = randomUUID();
    await this.db.club.create({ data: { id, slug: id, name: 'An invented club', createdAt: new Date() } });
    const joinedOn = new Date('2026-01-01');
    await this.db.clubMember.createMany({
      data: members.map(({ keeperId }) => ({ clubId: id, keeperId, joinedOn })),
    });
  }

  async animal(server: Server, holder: Person): Promise<string> {
    return registerAnimal(new ApiClient(`${server.url}/graphql`), holder, this.taxonId);
  }

  async ask<T>(server: Server, document: string, input: object, token?: string): Promise<Answer<T>> {
    const headers = token === undefined ? {} : { authorization: `Bearer ${token}` };
    const answer = await new ApiClient(`${server.url}/graphql`).send(document, input, headers);
    if (answer === undefined) throw new Error(`${server.process.name} does not answer: ${server.process.lastWords}`);
    return answer as Answer<T>;
  }

  async get<T>(server: Server, document: string, input: object, token?: string): Promise<T> {
    const { data, errors } = await this.ask<T>(server, document, input, token);
    if (data === undefined || data === null || errors !== undefined)
      throw new Error(`${server.process.name} answered ${JSON.stringify(errors)}`);
    return data;
  }

  /** Until exactly so many processes listen to the database: one that was killed is gone, one that has started is there. */
  async untilListening(processes: number): Promise<void> {
    let found = -1;
    for (const end = Date.now() + 30_000; Date.now() < end; await sleep(50)) {
      const [row] = await this.db.$queryRaw<{ n: bigint }[]>`
        SELECT count(*) AS n FROM pg_stat_activity WHERE datname = current_database()
          AND application_name = 'kithbook live' AND state = 'idle' AND query <> ''`;
      found = Number(row?.n);
      if (found === processes) return;
    }
    throw new Error(`${found} processes listen, ${processes} were awaited.`);
  }

  /** A socket of somebody at a process. */
  async connect(server: Server, token: string): Promise<LiveClient> {
    const socket = await new LiveClient(server.url).greet(token);
    this.sockets.push(socket);
    return socket;
  }
}

/** A mail server on any port that takes everything and notes the id of each mail. */
function takeMails(mailed: string[]): SMTPServer {
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onData: (stream, _session, done) => {
      const parts: Buffer[] = [];
      stream.on('data', (part: Buffer) => parts.push(part));
      stream.on('end', () => {
        mailed.push(/^Message-ID: *(.*?)\r?$/im.exec(Buffer.concat(parts).toString())?.[1] ?? 'no id');
        done();
      });
    },
  });
  server.listen(0, '127.0.0.1');
  return server;
}
