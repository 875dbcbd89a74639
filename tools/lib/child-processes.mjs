/**
 * The launcher's child processes. Contract of a child: it stops in order on SIGTERM, and also when its channel to the
 * launcher closes (`process.on('disconnect', shutdown)`), so that it does not outlive a launcher that was killed.
 */
import { spawn } from 'node:child_process';

/** How long a child may take to stop in order before it is killed. */
const STOP_MS = 10_000;

/**
 * Starts `node <script>` with its output on the launcher's. Detached, so that Ctrl-C in the terminal reaches the
 * launcher alone, which then stops the children in order.
 * @returns {{ name: string, ending: () => string | undefined, stop: () => Promise<void> }}
 *   `ending` tells how it ended ("exit code 1", "signal SIGKILL"), undefined while it runs.
 */
export function startChild({ name, script, env, cwd }) {
  const child = spawn(process.execPath, ['--enable-source-maps', script], {
    cwd,
    env,
    detached: process.platform !== 'win32',
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  });
  let ending;
  const ended = new Promise((resolve) => {
    child.on('error', (error) => resolve((ending = error.message)));
    child.on('exit', (code, signal) => resolve((ending = signal ? `signal ${signal}` : `exit code ${code}`)));
  });
  const stop = async () => {
    if (ending) return;
    child.kill('SIGTERM');
    const timer = setTimeout(() => child.kill('SIGKILL'), STOP_MS);
    await ended;
    clearTimeout(timer);
  };
  return { name, ending: () => ending, stop };
}
