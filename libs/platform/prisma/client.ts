import { PrismaPg } from '@prisma/adapter-pg';
import { Prisma, PrismaClient } from '../../../prisma/generated/client.js';
import { statementNames } from './statement-names.js';

export { Prisma, PrismaClient };

/** The database inside one transaction. */
export type Db = Prisma.TransactionClient;

/** Who waits longer than this for a lock is told BUSY rather than left hanging: milliseconds. */
const LOCK_TIMEOUT_MS = 5_000;

/**
 * A Prisma client over a pool of at most `max` connections, each of which waits for locks up to LOCK_TIMEOUT_MS: said when it
 * connects, so that no transaction spends a statement on it. The caller disconnects it.
 */
export function createPrismaClient(databaseUrl: string, max = 10): PrismaClient {
  const url = new URL(databaseUrl);
  const schema = url.searchParams.get('schema');
  const pool = { connectionString: databaseUrl, max, lock_timeout: LOCK_TIMEOUT_MS };
  const adapter = new PrismaPg(pool, {
    statementNameGenerator: statementNames(),
    ...(schema === null ? {} : { schema }),
  });
  return new PrismaClient({ adapter });
}
