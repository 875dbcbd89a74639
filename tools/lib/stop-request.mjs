/** When a launcher is asked to stop. */

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'];
const WATCH_MS = 200;

/**
 * Calls `stop(signal)` on SIGINT, SIGTERM and SIGHUP, perhaps more than once. npm runs a script through a shell and
 * passes SIGTERM to that shell, which ends without telling us: under npm the end of our parent therefore counts as SIGTERM.
 */
export function onStopRequest(stop) {
  for (const signal of SIGNALS) process.on(signal, () => stop(signal));
  if (!process.env.npm_lifecycle_event) return;
  const parent = process.ppid;
  const watch = setInterval(() => {
    if (process.ppid === parent) return;
    clearInterval(watch);
    stop('SIGTERM');
  }, WATCH_MS);
  watch.unref();
}
