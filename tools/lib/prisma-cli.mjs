/** Runs the Prisma command line in a child process, over our own schema engine. */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { root } from './launcher.mjs';

const cli = path.join(root, 'node_modules', 'prisma', 'build', 'index.js');

/** Environment that makes the Prisma command line work from npm packages alone and keeps it off the network. */
export const prismaEnvironment = {
  PRISMA_SCHEMA_ENGINE_BINARY: path.join(root, 'tools', 'schema-engine.mjs'),
  PRISMA_HIDE_UPDATE_MESSAGE: '1',
  CHECKPOINT_DISABLE: '1',
  NO_COLOR: '1',
};

/**
 * @param {string[]} args for example ['migrate', 'deploy']
 * @param {{ databaseUrl?: string }} options
 * @returns {Promise<{ status: number, output: string }>} exit status (1 when killed) and everything it printed.
 */
export function runPrisma(args, { databaseUrl } = {}) {
  const env = { ...process.env, ...prismaEnvironment, ...(databaseUrl ? { DATABASE_URL: databaseUrl } : {}) };
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [cli, ...args], { cwd: root, env, stdio: ['ignore', 'pipe', 'pipe'] });
    let output = '';
    child.stdout.on('data', (chunk) => (output += chunk));
    child.stderr.on('data', (chunk) => (output += chunk));
    child.on('error', reject);
    child.on('close', (status) => resolve({ status: status ?? 1, output: output.trim() }));
  });
}
