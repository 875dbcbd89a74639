/** Installs the packages of package-lock.json when they are missing or not those. No dependency of its own. */
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { LaunchError, progress, root } from './launcher.mjs';
import { withLock } from './process-lock.mjs';

/** Setup steps of concurrent launchers wait for each other here. Outside node_modules and dist, which setup deletes. */
export const setupLock = path.join(root, '.data', 'setup.lock');

/** Makes `node_modules` match package-lock.json (`npm ci`), with npm's output on stderr. Does nothing when it does. */
export async function ensureInstalled() {
  if (isInstalled(root)) return;
  await withLock(
    setupLock,
    () => {
      if (!isInstalled(root)) install(); // another launcher may have done it while this one waited
    },
    () => progress('Waiting for another launcher to finish the set-up ...'),
  );
}

/**
 * npm writes `node_modules/.package-lock.json` as the last act of an install: it lists what is there. Optional packages
 * may be absent (they are for other systems); every other one must be there in the locked version.
 */
export function isInstalled(folder) {
  const installed = readPackages(path.join(folder, 'node_modules', '.package-lock.json'));
  const locked = readPackages(path.join(folder, 'package-lock.json'));
  if (!installed || !locked) return false;
  return Object.entries(locked).every(([where, wanted]) => {
    if (where === '') return true; // the project itself
    const present = installed[where];
    return present ? present.version === wanted.version : wanted.optional === true;
  });
}

function readPackages(file) {
  try {
    return JSON.parse(fs.readFileSync(file, 'utf8')).packages;
  } catch {
    return undefined;
  }
}

function install() {
  if (fs.lstatSync(path.join(root, 'node_modules'), { throwIfNoEntry: false })?.isSymbolicLink()) {
    // npm ci empties the folder first, and through a link that would be somebody else's.
    throw new LaunchError('node_modules is a link to a folder with other packages: remove the link, then start again.');
  }
  progress('Installing packages (npm ci), once ...');
  // npm names its own script when it started us; otherwise it is looked up on the path.
  const npmScript = process.env.npm_execpath?.endsWith('.js') ? process.env.npm_execpath : undefined;
  const [command, args] = npmScript ? [process.execPath, [npmScript]] : ['npm', []];
  const { status, error } = spawnSync(command, [...args, 'ci', '--include=dev', '--no-audit', '--no-fund'], {
    cwd: root,
    stdio: ['ignore', 2, 2],
    shell: !npmScript && process.platform === 'win32',
  });
  if (error || status !== 0) {
    throw new LaunchError('npm ci failed (see above): check the network and the npm registry, then start again.');
  }
}
