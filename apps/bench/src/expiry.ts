import { NestFactory } from '@nestjs/core';
import { checkExpiry, requestExpiryCheck } from '../../../libs/document/index.js';
import { type Config } from '../../../libs/platform/config/index.js';
import { JobRegistry, JobRunner } from '../../../libs/platform/jobs/index.js';
import { Database, type PrismaClient, UnitOfWork } from '../../../libs/platform/prisma/index.js';
import { WorkerModule } from '../../worker/src/worker.module.js';
import { Registry } from './registry.js';
import { printNote, printTable, whole } from './table.js';
import { timedAsync } from './timing.js';

const SIZES = [25_000, 50_000, 100_000];
const KEEPERS = 200;

/** The nightly check of documents that lapse, through the worker's runner, and the same check again. */
export async function benchExpiry(config: Config): Promise<void> {
  const registry = await Registry.open(config);
  await registry.makeClub('documents', KEEPERS);
  await registry.close();
  const app = await NestFactory.createApplicationContext(WorkerModule.with(config), { logger: ['error', 'fatal'] });
  try {
    const { client } = app.get(Database, { strict: false });
    const runner = new JobRunner(
      client,
      app.get(UnitOfWork, { strict: false }),
      app.get(JobRegistry, { strict: false }),
    );
    const rows: string[][] = [];
    for (const size of SIZES) {
      await makeDocuments(client, size);
      const before = await counts(client);
      const [batches, first] = await timedAsync(() => runCheck(client, runner));
      const between = await counts(client);
      const [, second] = await timedAsync(() => runCheck(client, runner));
      const after = await counts(client);
      rows.push([
        whole(size),
        (first / 1000).toFixed(2),
        whole(between.notices - before.notices),
        whole(batches),
        whole((size * 1000) / first),
        (second / 1000).toFixed(3),
        whole(after.notices - between.notices + after.mails - between.mails + after.entries - between.entries),
      ]);
    }
    printTable(
      'Check of expiry',
      ['documents', 'first run s', 'notices', 'batches', 'documents/s', 'second run s', 'rows it wrote'],
      rows,
    );
    printNote(`Last days are spread over three years, so about one document in nine is due; ${KEEPERS} keepers.`);
    printNote('Rows the second run wrote: notices, mails and ledger entries together.');
  } finally {
    await app.close();
  }
}

/** Replaces all documents and notices by `size` documents whose last day lies −200 to +894 days from today. */
async function makeDocuments(client: PrismaClient, size: number): Promise<void> {
  await client.$executeRaw`TRUNCATE holding_document, notice, mail_message, outbox_message, job_receipt CASCADE`;
  await client.$executeRaw`
    INSERT INTO holding_document
      (id, original_id, keeper_id, kind, number, authority, jurisdiction, valid_until, recorded_at, recorded_by)
    SELECT d.id, d.id, k.ids[1 + d.i % ${KEEPERS}::int], 'permit', 'P ' || d.i, 'Invented authority', 'AT',
           current_date - 200 + d.i * 7919 % 1095, now(), k.ids[1]
    FROM (SELECT i, gen_random_uuid() AS id FROM generate_series(1, ${size}::int) i) d,
         (SELECT array_agg(id) AS ids FROM keeper) k`;
  await client.$executeRaw`ANALYZE`;
}

/** Asks for a check of all documents and delivers its messages until there is none left. Gives their number. */
async function runCheck(client: PrismaClient, runner: JobRunner): Promise<number> {
  await client.$executeRaw`TRUNCATE outbox_message, job_receipt`; // yesterday's request stands for today's no longer
  await requestExpiryCheck(client, new Date());
  for (let done = 0; ; done++) {
    const [message] = await client.$queryRaw<{ id: string }[]>`
      SELECT m.id FROM outbox_message m
      WHERE m.job = ${checkExpiry.name} AND NOT EXISTS (SELECT FROM job_receipt r WHERE r.message_id = m.id) LIMIT 1`;
    if (message === undefined) return done;
    await runner.run(message.id, true);
  }
}

async function counts(client: PrismaClient): Promise<{ notices: number; mails: number; entries: number }> {
  return {
    notices: await client.notice.count(),
    mails: await client.mailMessage.count(),
    entries: await client.ledgerEntry.count(),
  };
}
