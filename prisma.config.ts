import { defineConfig } from 'prisma/config';

/**
 * Where the Prisma command line finds schema, migrations and database. The address comes from the environment only;
 * `prisma generate` needs none.
 */
const url = process.env['DATABASE_URL'];

export default defineConfig({
  schema: 'prisma/schema',
  migrations: { path: 'prisma/migrations' },
  ...(url === undefined ? {} : { datasource: { url } }),
});
