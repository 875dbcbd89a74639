import pg from 'pg';

/** Jest runs this once after the `server` project: databases that a crashed file did not drop go now; the template stays. */
export default async function globalTeardown() {
  const client = new pg.Client({ connectionString: process.env.TEST_DATABASE_URL });
  await client.connect();
  const { rows } = await client.query('SELECT datname FROM pg_database WHERE starts_with(datname, $1)', [
    `kithbook_test_${process.env.KITHBOOK_TEST_RUN}_`,
  ]);
  for (const { datname } of rows) await client.query(`DROP DATABASE IF EXISTS ${datname} WITH (FORCE)`);
  await client.end();
}
