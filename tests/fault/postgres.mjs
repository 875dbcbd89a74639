/**
 * A PostgreSQL server for one fault run, in a process of its own: it prints the address of a migrated database, and stops and removes the server when the channel closes, also when the test runner was killed.
 */
import { startTemporaryPostgres } from '../../tools/lib/embedded-postgres.mjs';
import { migrate } from '../../tools/lib/migrate.mjs';

const server = await startTemporaryPostgres();
const stop = () => server.stop().then(() => process.exit(0));
process.on('disconnect', stop);
process.on('SIGTERM', stop);
try {
  const url = server.url('kithbook');
  await migrate(url);
  console.log(url);
} catch (error) {
  console.error(error);
  await server.stop();
  process.exit(1);
}
