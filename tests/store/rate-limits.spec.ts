import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { createPrismaClient, type Database, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../libs/platform/rate-limit/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

const limit: RateLimit = { name: 'test', times: 3, seconds: 600 };

let database: TestDatabase;
let clients: [PrismaClient, PrismaClient];
/** Two processes, as far as the database can tell. */
let here: RateLimits;
let there: RateLimits;
const limits = (client: PrismaClient) => new RateLimits({ client } as Database);
beforeAll(async () => {
  database = await createTestDatabase();
  clients = [createPrismaClient(database.url, 4), createPrismaClient(database.url, 4)];
  [here, there] = [limits(clients[0]), limits(clients[1])];
});
afterAll(async () => {
  for (const client of clients) await client.$disconnect();
  await database.drop();
});

describe('a rate limit', () => {
  it('is counted together by all processes, a key apart, and says how long to wait', async () => {
    await here.take(limit, 'a');
    await there.take(limit, 'a');
    await here.take(limit, 'a');
    await expect(there.take(limit, 'a')).rejects.toMatchObject({
      code: 'RATE_LIMITED',
      message: expect.stringMatching(/Try again in 10 minutes\./),
    });
    await expect(there.take(limit, 'b')).resolves.toBeUndefined();
  });

  it('lets exactly as many through as allowed, however many come at once', async () => {
    const tries = Array.from({ length: 24 }, (_, i) => (i % 2 === 0 ? here : there).take(limit, 'crowd'));
    const done = await Promise.allSettled(tries);
    expect(done.filter(({ status }) => status === 'fulfilled')).toHaveLength(3);
  });

  it('begins anew once its time is over, and when it is forgotten', async () => {
    const short: RateLimit = { name: 'short', times: 1, seconds: 600 };
    await here.take(short, 'a');
    await expect(here.take(short, 'a')).rejects.toMatchObject({ code: 'RATE_LIMITED' });
    // As if it had begun that much earlier.
    const ended = await clients[0].$executeRaw`UPDATE rate_limit SET expire = expire - 600001 WHERE key LIKE 'short:%'`;
    expect(ended).toBe(1);
    await expect(here.take(short, 'a')).resolves.toBeUndefined();
    await there.forget(short, 'a');
    await expect(here.take(short, 'a')).resolves.toBeUndefined();
  });

  it('keeps no key in clear', async () => {
    await here.take(limit, 'odile@example.org');
    const rows = await clients[0].rateLimit.findMany();
    expect(rows.length).toBeGreaterThan(0);
    expect(rows.map(({ key }) => key).join()).not.toContain('odile');
  });
});
