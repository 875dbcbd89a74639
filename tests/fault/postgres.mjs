/**
 * A PostgreSQL server for one fault run, in a process of its own: it prints the address of a migrated database, and stops and removes the server when the channel closes, also when the test runner was killed.
 */
import { randomBytes } from 'node:crypto';
import { startTemporaryPostgres } from '../../tools/lib/embedded-postgres.mjs';
import { migrate } from '../../tools/lib/migrate.mjs';

const server = await startTemporaryPostgres();
const stop = () => server.stop().then(() => process.exit(0));
process.on('disconnect', stop);
process.on('SIGTERM', stop);
try {
  // A name of its own: the queue's keys in a shared Redis are told apart by it.
  const url = server.url(`kithbook_fault_${randomBytes(6).toString('hex')}`);
  await migrate(url);
  console.log(url);
} catch (error) {
  console.error(error);
  await server.stop();
  process.exit(1);
}
