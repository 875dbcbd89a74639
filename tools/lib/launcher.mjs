/** What every launcher shares: where the project is, how it talks, how it fails. No dependency: `node_modules` may be missing. */
import path from 'node:path';

/** The project folder, absolute. */
export const root = path.resolve(import.meta.dirname, '../..');

/** Oldest Node the project runs on (package.json `engines`). */
const OLDEST_NODE = [20, 19];

/** A failure the person at the terminal can act on: its message is one line that says what to do. No stack is shown. */
export class LaunchError extends Error {}

/** One line about what is going on. On stderr, so that a tool's own output stays alone on stdout. */
export function progress(line) {
  process.stderr.write(`${line}\n`);
}

/** Runs a launcher: a LaunchError becomes its one line and exit code 1; anything else is a defect and shows its stack. */
export async function launch(main) {
  try {
    requireNode(process.versions.node);
    await main();
  } catch (error) {
    progress(`kithbook: ${explain(error)}`);
    process.exit(1);
  }
}

function explain(error) {
  if (error instanceof LaunchError) return error.message;
  const denied = ['EACCES', 'EPERM', 'EROFS', 'ENOSPC', 'ENOTDIR'].includes(error?.code) && error.path;
  return denied
    ? `${error.message}: check the folder's owner, permissions and free space.`
    : String(error?.stack ?? error);
}

/** Throws a LaunchError when `version` ("20.19.1") is older than the project needs. */
export function requireNode(version) {
  const [major, minor] = version.split('.').map(Number);
  const [oldestMajor, oldestMinor] = OLDEST_NODE;
  if (major > oldestMajor || (major === oldestMajor && minor >= oldestMinor)) return;
  throw new LaunchError(`Node ${OLDEST_NODE.join('.')} or later is needed, this is ${version}: install a newer Node.`);
}
