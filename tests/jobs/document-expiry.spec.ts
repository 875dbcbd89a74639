import 'reflect-metadata';
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { scheduledTasks } from '../../apps/worker/src/schedules.js';
import { slotDue } from '../../libs/document/core/expiry.core.js';
import { checkExpiry, CheckExpiryHandler, documentExpiryNotice } from '../../libs/document/index.js';
import { SupersedeDocument } from '../../libs/document/app/supersede-document.js';
import { addDays, day, dayOf, decide, type Day, type Viewer } from '../../libs/kernel/index.js';
import { MailStore, NoticeStore } from '../../libs/membership/index.js';
import { type JobRunner } from '../../libs/platform/jobs/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { eventually, type JobBench, openBench } from './job-bench.js';
import { keeper } from './world.js';

const LAST = day('2026-09-30');

describe('the check of expiry', () => {
  let bench: JobBench;
  let notices: NoticeStore;
  let runner: JobRunner;
  beforeAll(async () => {
    bench = await openBench(undefined);
    notices = new NoticeStore({ client: bench.client } as Database);
    runner = bench.runner(new CheckExpiryHandler(notices));
  });
  afterAll(async () => bench?.close());

  const row = (id: string, keeperId: string) => ({
    id,
    originalId: id,
    keeperId,
    kind: 'permit' as const,
    number: 'P 1',
    authority: 'Invented authority',
    jurisdiction: 'DE',
    recordedAt: new Date(),
    recordedBy: randomUUID(),
  });
  const columns = (days: { validFrom: Day | null; validUntil: Day | null }) => ({
    validFrom: days.validFrom === null ? null : new Date(days.validFrom),
    validUntil: days.validUntil === null ? null : new Date(days.validUntil),
  });

  /** A document for the whole collection that ends on LAST unless told otherwise. */
  async function document(keeperId: string, validUntil: Day | null = LAST): Promise<string> {
    const id = randomUUID();
    await bench.client.holdingDocument.create({
      data: {
        ...row(id, keeperId),
        ...columns({ validFrom: null, validUntil }),
        covers: { create: { id: randomUUID() } },
      },
    });
    return id;
  }

  const check = async (on: Day, documentId: string | null = null) =>
    runner.run(await bench.send(checkExpiry, { day: on, documentId, batch: 0 }), true);

  /** Slots a keeper was told of, oldest first. */
  async function told(keeperId: string): Promise<string[]> {
    const rows = await notices.list(keeperId, null, 100);
    return rows.map(({ body }) => documentExpiryNotice.parse(body).slot).reverse();
  }

  it('tells of each slot once, in turn, however often it runs', async () => {
    const keeperId = await keeper(bench.client);
    await document(keeperId);
    for (const before of [91, 90, 89, 31, 30, 8, 7, 1, 0, -1, -1, -2, -31]) {
      await check(addDays(LAST, -before));
      await check(addDays(LAST, -before));
    }
    expect(await told(keeperId)).toEqual(['90', '30', '7', 'lapsed']);
    const [last] = await notices.list(keeperId, null, 1);
    expect(last).toMatchObject({ kind: 'document_expiry', dueOn: LAST });
    expect(documentExpiryNotice.parse(last?.body).caution).toContain('licensing authority decides');
  });

  it('a second run of the same day writes nothing at all', async () => {
    const keeperId = await keeper(bench.client);
    await document(keeperId);
    await check(addDays(LAST, -20));
    const counts = async () => [
      await bench.client.notice.count(),
      await bench.client.mailMessage.count(),
      await bench.client.ledgerEntry.count(),
    ];
    const before = await counts();
    await check(addDays(LAST, -20));
    expect(await counts()).toEqual(before);
  });

  it('finds in SQL what the pure rule says, on every day around the end', async () => {
    const on = day('2026-06-10');
    const cases: { validFrom: Day | null; validUntil: Day }[] = Array.from({ length: 130 }, (_, index) =>
      addDays(on, index - 35),
    ).flatMap((validUntil) =>
      [null, on, addDays(on, 1)]
        .filter((validFrom) => validFrom === null || validFrom <= validUntil)
        .map((validFrom) => ({ validFrom, validUntil })),
    );
    const keeperId = await keeper(bench.client);
    const ids = cases.map(() => randomUUID());
    await bench.client.holdingDocument.createMany({
      data: cases.map((days, index) => ({ ...row(ids[index] ?? '', keeperId), ...columns(days) })),
    });
    await check(on);
    const written = await bench.client.notice.findMany({ where: { keeperId } });
    const found = new Map(
      written.map(({ body }) => {
        const { documentId, slot } = documentExpiryNotice.parse(body);
        return [documentId, slot];
      }),
    );
    const expected = cases.map((days) => slotDue(days, on));
    expect(ids.map((id) => found.get(id) ?? null)).toEqual(expected);
    expect(new Set(expected)).toEqual(new Set([null, '90', '30', '7', 'lapsed']));
  });

  it('a document without an end, and one that lapsed long ago, are left alone', async () => {
    const keeperId = await keeper(bench.client);
    await document(keeperId, null);
    await document(keeperId, addDays(LAST, -31));
    await check(LAST);
    expect(await told(keeperId)).toEqual([]);
  });

  it('checks one document alone when asked for it', async () => {
    const keeperId = await keeper(bench.client);
    const [one] = [await document(keeperId), await document(keeperId)];
    await check(addDays(LAST, -7), one);
    await check(addDays(LAST, -7), one);
    const rows = await notices.list(keeperId, null, 10);
    expect(rows.map(({ body }) => documentExpiryNotice.parse(body).documentId)).toEqual([one]);
  });

  describe('a document that changed meanwhile', () => {
    const supersede = async (keeperId: string, documentId: string, changes: object) => {
      const viewer: Viewer = {
        accountId: randomUUID(),
        keepers: [{ keeperId, role: 'owner' }],
        clubIds: [],
        offices: [],
        requestId: randomUUID(),
      };
      return (await new SupersedeDocument(bench.uow).execute(viewer, { documentId, reason: 'test', changes }))
        .documentId;
    };

    it('prolonged: no stale warning, and the new end is told in its time', async () => {
      const keeperId = await keeper(bench.client);
      const id = await document(keeperId);
      await check(addDays(LAST, -90));
      const end = addDays(LAST, 365);
      await supersede(keeperId, id, { validUntil: end });
      await check(addDays(LAST, -30));
      await check(addDays(LAST, 1));
      expect(await told(keeperId)).toEqual(['90']);
      await check(addDays(end, -90));
      expect(await told(keeperId)).toEqual(['90', '90']);
      await check(addDays(LAST, -30), id);
      expect(await told(keeperId)).toEqual(['90', '90']);
    });

    it('corrected without a new end: nothing is told twice', async () => {
      const keeperId = await keeper(bench.client);
      const id = await document(keeperId);
      await check(addDays(LAST, -30));
      const second = await supersede(keeperId, id, { number: 'P 2' });
      await supersede(keeperId, second, { number: 'P 3' });
      await check(addDays(LAST, -29));
      expect(await told(keeperId)).toEqual(['30']);
      await check(addDays(LAST, -7));
      expect(await told(keeperId)).toEqual(['30', '7']);
    });

    it('superseded while the check waits for it: no stale warning', async () => {
      const keeperId = await keeper(bench.client);
      const id = await document(keeperId);
      let release: () => void = () => undefined;
      const hold = new Promise<void>((done) => (release = done));
      let superseded: () => void = () => undefined;
      const locked = new Promise<void>((done) => (superseded = done));
      const changing = bench.uow.writeAsServer(null, async (tx) => {
        await tx.db.holdingDocument.update({
          where: { id },
          data: { supersededAt: tx.now, supersededBy: randomUUID() },
        });
        superseded();
        await hold;
        return decide(undefined);
      });
      await locked;
      const checking = check(addDays(LAST, -7), id);
      await eventually(async () => {
        const waiting = await bench.client.$queryRaw<object[]>`
          SELECT FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`;
        return waiting.length === 1;
      });
      release();
      await Promise.all([changing, checking]);
      expect(await told(keeperId)).toEqual([]);
    });

    it('every write asks for a check of its document', async () => {
      const keeperId = await keeper(bench.client);
      const next = await supersede(keeperId, await document(keeperId), { number: 'P 4' });
      const messages = await bench.client.outboxMessage.findMany({ where: { job: checkExpiry.name } });
      expect(messages.map(({ payload }) => (payload as { documentId: string }).documentId)).toContain(next);
    });
  });

  it('leaves a mail for each account that acts for the keeper today, once, and for no other', async () => {
    const keeperId = await keeper(bench.client);
    const account = async (role: 'owner' | 'helper', ended: boolean) => {
      const id = randomUUID();
      await bench.client.account.create({
        data: { id, email: `${id}@example.org`, passwordHash: 'none', createdAt: new Date() },
      });
      await bench.client.keeperMember.create({
        data: { keeperId, accountId: id, role, since: new Date(), endedAt: ended ? new Date() : null },
      });
      return id;
    };
    const [owner, helper, former] = [
      await account('owner', false),
      await account('helper', false),
      await account('helper', true),
    ];
    // A mail counts the days from the server's own day.
    const today = dayOf(new Date());
    const last = addDays(today, 30);
    await document(keeperId, last);
    await check(today);
    await check(addDays(today, 1));
    const mails = new MailStore({ client: bench.client } as Database, { demo: false });
    for (const id of [owner, helper]) {
      const [mail, ...more] = await mails.list(id, null, 10);
      expect(more).toEqual([]);
      expect(mail).toMatchObject({ subject: 'Kithbook: A holding document is about to lapse', sentAt: null });
      expect(mail?.text).toContain(`${last} (in 30 days)`);
      expect(mail?.text).not.toContain('P 1');
    }
    expect(await mails.list(former, null, 10)).toEqual([]);
  });

  it('goes on in batches when a night has many', async () => {
    const keeperId = await keeper(bench.client);
    await bench.client.$executeRaw`
      INSERT INTO holding_document (id, original_id, keeper_id, kind, number, authority, jurisdiction, valid_until, recorded_at, recorded_by)
      SELECT id, id, ${keeperId}::uuid, 'licence', 'many', 'Invented authority', 'DE', '2030-01-15', now(), ${randomUUID()}::uuid
      FROM (SELECT gen_random_uuid() AS id FROM generate_series(1, 5001)) x`;
    const on = day('2030-01-10');
    await check(on);
    expect(await bench.client.notice.count({ where: { keeperId } })).toBe(5_000);
    const next = await bench.client.outboxMessage.findUniqueOrThrow({
      where: { dedupeKey: `${checkExpiry.name}:${on}:1` },
    });
    await runner.run(next.id, true);
    expect(await bench.client.notice.count({ where: { keeperId } })).toBe(5_001);
  });

  it('the timetable asks once for a day', async () => {
    const task = scheduledTasks(bench.client, bench.queue).find(({ name }) => name === 'check-document-expiry');
    await task?.run(new Date('2026-08-01T02:41:00Z'));
    await task?.run(new Date('2026-08-01T02:41:00Z'));
    const messages = await bench.client.outboxMessage.findMany({
      where: { dedupeKey: 'document.check-expiry:2026-08-01:0' },
    });
    expect(messages.map(({ payload }) => payload)).toEqual([{ day: '2026-08-01', documentId: null, batch: 0 }]);
  });
});
