/** Brings a database to the project's migrations. */
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { LaunchError, progress, root } from './launcher.mjs';
import { runPrisma } from './prisma-cli.mjs';

const migrationsFolder = path.join(root, 'prisma', 'migrations');

/**
 * Applies what is missing. The Prisma command line takes seconds to start, so it is left out when the database's own
 * record (`_prisma_migrations`) already names every migration of the folder with the same checksum.
 * Creates the database when it does not exist. Throws LaunchError with the remedy.
 * @returns {Promise<boolean>} whether anything was applied
 */
export async function migrate(databaseUrl) {
  const wanted = migrationsInProject();
  const applied = await readApplied(databaseUrl);
  if (applied) {
    refuseForeign(wanted, applied);
    if (applied.size === wanted.size) return false;
  }
  progress('Migrating the database ...');
  await prismaOrFail(['migrate', 'deploy'], databaseUrl);
  // `deploy` alone is not proof: the command line takes an engine that went away for success.
  await prismaOrFail(['migrate', 'status'], databaseUrl);
  return true;
}

/** Migration name → SHA-256 of its script in hex, which is the checksum Prisma records. */
export function migrationsInProject() {
  const names = fs.readdirSync(migrationsFolder, { withFileTypes: true }).filter((entry) => entry.isDirectory());
  const checksum = (name) =>
    createHash('sha256')
      .update(fs.readFileSync(path.join(migrationsFolder, name, 'migration.sql')))
      .digest('hex');
  return new Map(names.map(({ name }) => [name, checksum(name)]));
}

/** The finished migrations of the database; undefined when it, or the record in it, does not exist yet. */
async function readApplied(databaseUrl) {
  const { default: pg } = await import('pg');
  const client = new pg.Client({ connectionString: databaseUrl, connectionTimeoutMillis: 5000 });
  try {
    await client.connect();
    const { rows } = await client.query(
      'SELECT migration_name, checksum FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL',
    );
    return new Map(rows.map((row) => [row.migration_name, row.checksum]));
  } catch (error) {
    // No such database (3D000), no such table (42P01): PostgreSQL error codes, appendix A of its manual.
    if (error.code === '3D000' || error.code === '42P01') return undefined;
    const { hostname, port } = new URL(databaseUrl);
    const why = error.message || error.code;
    throw new LaunchError(`no database at ${hostname}:${port || 5432} (${why}): check DATABASE_URL and that it runs.`);
  } finally {
    await client.end().catch(() => {});
  }
}

function refuseForeign(wanted, applied) {
  for (const [name, checksum] of applied) {
    if (!wanted.has(name)) {
      throw new LaunchError(
        `the database has migration ${name}, which this version does not know: run the newer version.`,
      );
    }
    if (wanted.get(name) !== checksum) {
      throw new LaunchError(
        `migration ${name} was edited after it was applied: restore it, or start with a new database.`,
      );
    }
  }
}

async function prismaOrFail(args, databaseUrl) {
  const { status, output } = await runPrisma(args, { databaseUrl });
  if (status !== 0) throw new LaunchError(`prisma ${args.join(' ')} failed:\n${output}`);
}
