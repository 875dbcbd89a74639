import { once } from 'node:events';
import { type AddressInfo } from 'node:net';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { SMTPServer } from 'smtp-server';
import { v7 as uuid } from 'uuid';
import { MailSender, StopLinks } from '../../libs/membership/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { smtpTransport } from '../../libs/platform/mail/index.js';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

/** A mail as the server took it. */
type Taken = { readonly to: string; readonly raw: string };

let database: TestDatabase;
let client: PrismaClient;
let server: SMTPServer;
let url: string;
let taken: Taken[] = [];
/** What the server answers to a recipient; null = it takes the mail. */
let answer: { readonly code: number; readonly text: string } | null = null;
const clock = new Clock();
let trouble: string[] = [];

beforeAll(async () => {
  database = await createTestDatabase();
  client = createPrismaClient(database.url, 8);
  server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onRcptTo: (_address, _session, done) =>
      done(answer === null ? null : Object.assign(new Error(answer.text), { responseCode: answer.code })),
    onData: (stream, session, done) => {
      const parts: Buffer[] = [];
      stream.on('data', (part: Buffer) => parts.push(part));
      stream.on('end', () => {
        const to = session.envelope.rcptTo.map(({ address }) => address).join();
        taken.push({ to, raw: Buffer.concat(parts).toString() });
        done();
      });
    },
  });
  server.listen(0, '127.0.0.1');
  await once(server.server, 'listening');
  url = `smtp://127.0.0.1:${(server.server.address() as AddressInfo).port}`;
});
afterAll(async () => {
  await new Promise<void>((resolve) => server.close(resolve));
  await client.$disconnect();
  await database.drop();
});
beforeEach(async () => {
  taken = [];
  trouble = [];
  answer = null;
  clock.now = () => new Date();
  await client.mailMessage.deleteMany();
});

const links = new StopLinks({ authSecret: 's'.repeat(32), publicUrl: 'https://kithbook.example' });
const sender = () =>
  new MailSender(client, smtpTransport({ url, from: 'Kithbook <post@kithbook.example>' }), links, clock, (error) =>
    trouble.push(error.message),
  );
async function account(confirmed: boolean): Promise<{ id: string; email: string }> {
  const id = uuid();
  const email = `${id}@example.org`;
  const emailConfirmedAt = confirmed ? new Date() : null;
  await client.account.create({ data: { id, email, passwordHash: 'none', createdAt: new Date(), emailConfirmedAt } });
  return { id, email };
}
async function mail(accountId: string, kind: 'notice' | 'account' = 'notice', createdAt = new Date()): Promise<string> {
  const id = uuid();
  await client.mailMessage.create({
    data: {
      id,
      accountId,
      kind,
      subject: 'Kithbook: ünïcode',
      text: 'A line.\n',
      dedupeKey: id,
      createdAt,
      dueAt: createdAt,
    },
  });
  return id;
}
const stateOf = (id: string) => client.mailMessage.findUniqueOrThrow({ where: { id } });

describe('mails', () => {
  it('go out once, with an id by which repeats are told', async () => {
    const { id, email } = await account(true);
    const mailId = await mail(id);
    expect(await sender().pass()).toBe(1);
    expect(await sender().pass()).toBe(0);
    expect(taken.map(({ to }) => to)).toEqual([email]);
    expect(taken[0]?.raw).toContain(`Message-ID: <${mailId}@kithbook.example>`);
    expect(taken[0]?.raw).toContain('Auto-Submitted: auto-generated');
    expect((await stateOf(mailId)).sentAt).not.toBeNull();
  });

  it('carry the link that ends more of their kind, by one click (RFC 8058); those that must come carry none', async () => {
    const { id } = await account(true);
    const [plain, digest, always] = [await mail(id), await mail(id), await mail(id)];
    await client.mailMessage.update({ where: { id: plain }, data: { group: 'transfers' } });
    await client.mailMessage.update({ where: { id: digest }, data: { digest: true } });
    await sender().pass();
    const rawOf = (mailId: string) =>
      (taken.find(({ raw }) => raw.includes(`<${mailId}@`))?.raw ?? '')
        .replace(/\r\n[ \t]+/g, ' ')
        .replace(/=\r\n/g, '');
    const link = links.linkFor({ accountId: id, stops: 'transfers' });
    // RFC 8058 section 3.1: one https address, and this Post header word for word.
    expect(rawOf(plain)).toMatch(/^List-Unsubscribe: ?<https:/m);
    expect(rawOf(plain).replace(/\s/g, '')).toContain(`List-Unsubscribe:<${link}>`);
    expect(rawOf(plain)).toContain('List-Unsubscribe-Post: List-Unsubscribe=One-Click');
    expect(rawOf(plain)).toContain('To stop mails about transfers: https://kithbook.example/mails/stop/');
    const daily = links.linkFor({ accountId: id, stops: 'digest' });
    expect(rawOf(digest).replace(/\s/g, '')).toContain(`List-Unsubscribe:<${daily}>`);
    expect(rawOf(always)).not.toContain('List-Unsubscribe');
  });

  it('are shared by senders that run at once', async () => {
    const { id } = await account(true);
    for (let n = 0; n < 30; n += 1) await mail(id);
    const tried = await Promise.all([sender().pass(), sender().pass(), sender().pass()]);
    expect(tried.reduce((sum, n) => sum + n, 0)).toBe(30);
    expect(new Set(taken.map(({ raw }) => /Message-ID: <(.+)@/.exec(raw)?.[1])).size).toBe(30);
    expect(taken).toHaveLength(30);
  });

  it('to an address that is not confirmed wait, but for the one with the code; its text is not kept', async () => {
    const { id } = await account(false);
    const [notice, code] = [await mail(id), await mail(id, 'account')];
    await sender().pass();
    expect(taken).toHaveLength(1);
    expect([(await stateOf(notice)).sentAt, (await stateOf(code)).text]).toEqual([null, '']);
    await client.account.update({ where: { id }, data: { emailConfirmedAt: new Date() } });
    await sender().pass();
    expect((await stateOf(notice)).sentAt).not.toBeNull();
  });

  it('older than a week are no news any more', async () => {
    const { id } = await account(true);
    await mail(id, 'notice', new Date(Date.now() - 8 * 86_400_000));
    expect(await sender().pass()).toBe(0);
  });

  it('the server cannot take now come again later, and later still', async () => {
    const { id } = await account(true);
    const mailId = await mail(id);
    answer = { code: 451, text: 'try again' };
    await sender().pass();
    expect(await sender().pass()).toBe(0);
    const first = await stateOf(mailId);
    expect(first).toMatchObject({ attempts: 1, sentAt: null, lastError: expect.stringContaining('try again') });
    clock.now = () => new Date(Date.now() + 3 * 60_000);
    expect(await sender().pass()).toBe(1);
    expect((await stateOf(mailId)).dueAt.getTime()).toBeGreaterThan(first.dueAt.getTime() + 2 * 60_000);
    answer = null;
    clock.now = () => new Date(Date.now() + 30 * 60_000);
    await sender().pass();
    expect((await stateOf(mailId)).sentAt).not.toBeNull();
    expect(trouble.join()).not.toContain('@');
  });

  it('the server will never take are given up', async () => {
    const { id } = await account(true);
    const mailId = await mail(id);
    answer = { code: 550, text: 'no such mailbox' };
    await sender().pass();
    clock.now = () => new Date(Date.now() + 86_400_000);
    expect(await sender().pass()).toBe(0);
    expect(await stateOf(mailId)).toMatchObject({
      sentAt: null,
      lastError: expect.stringContaining('no such mailbox'),
    });
  });

  it('a killed sender had taken are sent by the next one after a while', async () => {
    const { id } = await account(true);
    const mailId = await mail(id);
    // It took the mail and never came back.
    await client.mailMessage.update({
      where: { id: mailId },
      data: { attempts: 1, dueAt: new Date(Date.now() + 5 * 60_000) },
    });
    expect(await sender().pass()).toBe(0);
    clock.now = () => new Date(Date.now() + 6 * 60_000);
    expect(await sender().pass()).toBe(1);
    expect(taken).toHaveLength(1);
  });
});
