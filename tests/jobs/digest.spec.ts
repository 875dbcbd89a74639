import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { scheduledTasks } from '../../apps/worker/src/schedules.js';
import { type Day, day, decide } from '../../libs/kernel/index.js';
import { NoticeStore, requestDigests, sendDigests, SendDigestsHandler } from '../../libs/membership/index.js';
import { type MailPace, type NoticeGroup } from '../../libs/membership/notices/notice-group.core.js';
import { type JobRunner } from '../../libs/platform/jobs/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { type JobBench, openBench } from './job-bench.js';
import { keeper } from './world.js';

let bench: JobBench;
let notices: NoticeStore;
let runner: JobRunner;
beforeAll(async () => {
  bench = await openBench(undefined);
  notices = new NoticeStore({ client: bench.client } as Database);
  runner = bench.runner(new SendDigestsHandler());
});
afterAll(async () => bench?.close());
beforeEach(async () => {
  await bench.client.digestItem.deleteMany();
});

/** An account that acts for the keeper, with what it chose. */
async function account(keeperId: string, chosen: Partial<Record<NoticeGroup, MailPace>>): Promise<string> {
  const id = randomUUID();
  const choices = Object.entries(chosen).map(([group, pace]) => ({ group: group as NoticeGroup, pace }));
  await bench.client.account.create({
    data: {
      id,
      email: `${id}@example.org`,
      passwordHash: 'none',
      createdAt: new Date(),
      mailChoices: { create: choices },
      members: { create: { keeperId, role: 'helper', since: new Date() } },
    },
  });
  return id;
}
const write = (keeperId: string, kind: string, dueOn: Day | null = null) =>
  bench.uow.writeAsServer(null, async (tx) =>
    decide(await notices.write(tx, { keeperId, kind, body: {}, dueOn, dedupeKey: randomUUID() })),
  );
const mailsTo = (accountId: string) =>
  bench.client.mailMessage.findMany({ where: { accountId }, orderBy: { createdAt: 'asc' } });
const digest = async (on: string, after: string | null = null) =>
  runner.run(await bench.send(sendDigests, { day: on, after }), true);

describe('how an account is mailed', () => {
  it('at once, daily or not at all, each account of a keeper as it chose; the notice stands in any case', async () => {
    const keeperId = await keeper(bench.client);
    const [atOnce, daily, none] = [
      await account(keeperId, {}),
      await account(keeperId, { transfers: 'daily' }),
      await account(keeperId, { transfers: 'none' }),
    ];
    await write(keeperId, 'transfer_offered', day('2026-09-01'));
    await write(keeperId, 'transfer_sent');
    expect((await mailsTo(atOnce)).map(({ group, digest: whole }) => [group, whole])).toEqual([
      ['transfers', false],
      ['transfers', false],
    ]);
    expect([await mailsTo(daily), await mailsTo(none)]).toEqual([[], []]);
    expect(await notices.list(keeperId, null, 10)).toHaveLength(2);
    await digest('2026-08-01');
    const [mail, ...more] = await mailsTo(daily);
    expect(more).toEqual([]);
    expect(mail).toMatchObject({
      subject: 'Kithbook: 2 notices since your last daily mail',
      digest: true,
      group: null,
    });
    expect(mail?.text).toContain('- Animals are offered to you: 2026-09-01');
    expect(mail?.text).toContain('- Animals are on their way to you');
    expect(await mailsTo(none)).toEqual([]);
  });

  it('that an animal one has is reported stolen comes at once, whatever was chosen', async () => {
    const keeperId = await keeper(bench.client);
    const id = await account(keeperId, { thefts: 'none', other: 'none' });
    await write(keeperId, 'theft_reported');
    await write(keeperId, 'theft_replied');
    expect((await mailsTo(id)).map(({ subject, group }) => [subject, group])).toEqual([
      ['Kithbook: An animal you have is reported stolen', null],
    ]);
  });
});

describe('the daily mail', () => {
  it('is one a day; what comes after it waits for the next', async () => {
    const keeperId = await keeper(bench.client);
    const id = await account(keeperId, { threads: 'daily' });
    await write(keeperId, 'thread_message');
    await digest('2026-08-02');
    await write(keeperId, 'thread_closed');
    // The same day, asked again by another message: nothing more, and nothing lost.
    await digest('2026-08-02');
    expect(await mailsTo(id)).toHaveLength(1);
    await digest('2026-08-03');
    const [, second, ...more] = await mailsTo(id);
    expect(more).toEqual([]);
    expect(second?.text).toContain('A thread was closed');
    expect(second?.text).not.toContain('A message in one of your threads');
    await digest('2026-08-04');
    expect(await mailsTo(id)).toHaveLength(2);
  });

  it('killed before its commit it is neither lost nor doubled', async () => {
    const keeperId = await keeper(bench.client);
    const id = await account(keeperId, { threads: 'daily' });
    await write(keeperId, 'thread_message');
    const message = await bench.send(sendDigests, { day: '2026-08-05', after: null });
    // The last statement of the handler's transaction fails, as when the process dies there.
    await bench.client.$executeRaw`
      CREATE FUNCTION die() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'killed'; END $$`;
    await bench.client.$executeRaw`CREATE TRIGGER die AFTER INSERT ON mail_message FOR EACH ROW EXECUTE FUNCTION die()`;
    await expect(runner.run(message, false)).rejects.toThrow();
    expect([await mailsTo(id), await bench.client.digestItem.count()]).toEqual([[], 1]);
    await bench.client.$executeRaw`DROP FUNCTION die CASCADE`;
    await Promise.all([runner.run(message, false), runner.run(message, false)]);
    expect([(await mailsTo(id)).length, await bench.client.digestItem.count()]).toEqual([1, 0]);
  });

  it('tells nothing of a keeper one acts for no more, and nothing one has chosen to hear no more', async () => {
    const [left, kept] = [await keeper(bench.client), await keeper(bench.client)];
    const id = await account(left, { threads: 'daily', marks: 'daily', documents: 'daily' });
    await bench.client.keeperMember.create({
      data: { keeperId: kept, accountId: id, role: 'owner', since: new Date() },
    });
    await write(left, 'thread_message');
    await write(kept, 'mark_conflict');
    await write(kept, 'document_expiry');
    await bench.client.keeperMember.update({
      where: { keeperId_accountId: { keeperId: left, accountId: id } },
      data: { endedAt: new Date() },
    });
    await bench.client.mailChoice.update({
      where: { accountId_group: { accountId: id, group: 'marks' } },
      data: { pace: 'none' },
    });
    await digest('2026-08-06');
    const [mail] = await mailsTo(id);
    expect(mail?.subject).toBe('Kithbook: one notice since your last daily mail');
    expect(mail?.text).toContain('A holding document is about to lapse');
    expect(await bench.client.digestItem.count()).toBe(0);
  });

  it('goes on in batches where many wait', async () => {
    const keeperId = await keeper(bench.client);
    await bench.client.$executeRaw`
      WITH made AS (
        INSERT INTO account (id, email, password_hash, created_at)
        SELECT gen_random_uuid(), 'many-' || n || '@example.org', 'none', now() FROM generate_series(1, 201) n RETURNING id),
      chosen AS (INSERT INTO mail_choice (account_id, notice_group, pace) SELECT id, 'other', 'daily' FROM made)
      INSERT INTO keeper_member (keeper_id, account_id, role, since) SELECT ${keeperId}::uuid, id, 'helper', now() FROM made`;
    await write(keeperId, 'a kind made later');
    await digest('2026-08-07');
    expect(await bench.client.digestItem.count()).toBe(1);
    const next = await bench.client.outboxMessage.findFirstOrThrow({
      where: { job: sendDigests.name, dedupeKey: { startsWith: 'membership.send-digests:2026-08-07:' } },
    });
    await runner.run(next.id, true);
    expect(await bench.client.digestItem.count()).toBe(0);
  });

  it('is asked for once a day; a worker that starts before seven asks for the day before', async () => {
    const task = scheduledTasks(bench.client, bench.queue).find(({ name }) => name === 'send-digests');
    expect(task?.pattern).toBe('0 7 * * *');
    for (const slot of ['2026-10-02T07:00:00Z', '2026-10-02T19:12:00Z', '2026-10-03T06:59:00Z'])
      await requestDigests(bench.client, new Date(slot));
    const keys = await bench.client.outboxMessage.findMany({
      where: { dedupeKey: { startsWith: 'membership.send-digests:2026-10' } },
    });
    expect(keys.map(({ payload }) => payload)).toEqual([{ day: '2026-10-02', after: null }]);
  });
});
