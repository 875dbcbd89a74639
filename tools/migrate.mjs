/** `node tools/migrate.mjs`: brings the database at DATABASE_URL to the project's migrations, then ends. */
import { LaunchError, launch } from './lib/launcher.mjs';
import { migrate } from './lib/migrate.mjs';

await launch(async () => {
  const databaseUrl = process.env.DATABASE_URL;
  if (!databaseUrl) throw new LaunchError('DATABASE_URL is not set: give the address of the PostgreSQL database.');
  await migrate(databaseUrl);
});
