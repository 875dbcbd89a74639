/**
 * `npm run test:fault -- [--minutes N] [--seed S]`: the fault runs of the test suite, longer. API and workers are
 * killed at moments the seed decides; the end state must be as if nothing had happened. The run on Redis needs
 * TEST_REDIS_URL. A seed repeats the choices, not the machine's timing.
 */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { LaunchError, launch, root } from './lib/launcher.mjs';

await launch(async () => {
  const { minutes, seed } = readArguments();
  const test = spawn(
    process.execPath,
    [path.join(root, 'tools/test.mjs'), '--selectProjects', 'server', '--testPathPatterns', 'tests/fault/'],
    {
      cwd: root,
      stdio: 'inherit',
      env: {
        ...process.env,
        KITHBOOK_FAULT_SECONDS: String(minutes * 60),
        ...(seed === undefined ? {} : { KITHBOOK_FAULT_SEED: String(seed) }),
      },
    },
  );
  // The runner is in the same process group and stops itself on Ctrl-C; this process only hands on its exit code.
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => test.kill(signal));
  process.exitCode = await new Promise((resolve, reject) => {
    test.on('error', reject);
    test.on('exit', (code) => resolve(code ?? 1));
  });
});

function readArguments() {
  const usage = 'usage: npm run test:fault -- [--minutes N] [--seed S]';
  let values;
  try {
    ({ values } = parseArgs({ options: { minutes: { type: 'string', default: '5' }, seed: { type: 'string' } } }));
  } catch (error) {
    throw new LaunchError(`${error.message.split('.')[0]}; ${usage}`);
  }
  const minutes = Number(values.minutes);
  if (!(minutes > 0)) throw new LaunchError(`--minutes must be a number above 0; ${usage}`);
  const seed = values.seed === undefined ? undefined : Number(values.seed);
  if (seed !== undefined && !Number.isSafeInteger(seed))
    throw new LaunchError(`--seed must be a whole number; ${usage}`);
  return { minutes, seed };
}
