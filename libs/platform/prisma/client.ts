import { PrismaPg } from '@prisma/adapter-pg';
import { Prisma, PrismaClient } from '../../../prisma/generated/client.js';

export { Prisma, PrismaClient };

/** The database inside one transaction. */
export type Db = Prisma.TransactionClient;

/** A Prisma client over a pool of at most `max` connections. The caller disconnects it. */
export function createPrismaClient(databaseUrl: string, max = 10): PrismaClient {
  const url = new URL(databaseUrl);
  const schema = url.searchParams.get('schema');
  const adapter = new PrismaPg({ connectionString: databaseUrl, max }, schema === null ? undefined : { schema });
  return new PrismaClient({ adapter });
}
