/**
 * `npm test [-- jest arguments]`: installs and builds what is stale, starts a PostgreSQL server of its own unless
 * TEST_DATABASE_URL names one, runs every suite, stops the server. Exit code of Jest.
 */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { launch, progress, root } from './lib/launcher.mjs';
import { onStopRequest } from './lib/stop-request.mjs';

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt();
  const server = process.env.TEST_DATABASE_URL ? undefined : await startServer();
  try {
    const jest = startJest(server ? { TEST_DATABASE_URL: server.url() } : {});
    // This process outlives Jest, to stop the server after it.
    onStopRequest((signal) => jest.kill(signal));
    process.exitCode = await new Promise((resolve, reject) => {
      jest.on('error', reject);
      jest.on('exit', (code) => resolve(code ?? 1));
    });
  } finally {
    await server?.stop();
  }
});

async function startServer() {
  progress('Starting a temporary PostgreSQL server for the tests ...');
  const { startTemporaryPostgres } = await import('./lib/embedded-postgres.mjs');
  return startTemporaryPostgres();
}

function startJest(extraEnvironment) {
  const nodeOptions = `${process.env.NODE_OPTIONS ?? ''} --experimental-vm-modules --disable-warning=ExperimentalWarning`;
  return spawn(
    process.execPath,
    [path.join(root, 'node_modules', 'jest', 'bin', 'jest.js'), ...process.argv.slice(2)],
    {
      cwd: root,
      stdio: 'inherit',
      env: { ...process.env, ...extraEnvironment, NODE_OPTIONS: nodeOptions.trim() },
    },
  );
}
