/** A lock file that names the process holding it, so that a lock left by a killed process does not block anyone. */
import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

/**
 * Takes the lock when it is free or its holder is gone.
 * @returns {{ release(): void } | { heldBy: number }} the lock, or the process id that holds it.
 */
export function tryLock(file) {
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const mine = { pid: process.pid, started: processStart(process.pid) };
  for (;;) {
    try {
      fs.writeFileSync(file, JSON.stringify(mine), { flag: 'wx' });
      return { release: () => fs.rmSync(file, { force: true }) };
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
    }
    const holder = readHolder(file);
    if (holder && isSameProcess(holder)) return { heldBy: holder.pid };
    fs.rmSync(file, { force: true });
  }
}

/** Waits for the lock, runs `work`, releases. `onWait` is called once when another process holds it. */
export async function withLock(file, work, onWait = () => {}) {
  let lock = tryLock(file);
  if ('heldBy' in lock) onWait(lock.heldBy);
  while ('heldBy' in lock) {
    await sleep(200);
    lock = tryLock(file);
  }
  try {
    return await work();
  } finally {
    lock.release();
  }
}

/** True while process `pid` exists (a process of another user counts). */
export function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

function readHolder(file) {
  try {
    const holder = JSON.parse(fs.readFileSync(file, 'utf8'));
    return Number.isInteger(holder.pid) && holder.pid > 0 ? holder : undefined;
  } catch {
    // Between creation and content, or gone again. An unreadable lock is treated as left over.
    return undefined;
  }
}

/** Process ids are used again (at once in containers); where the system tells it, the start time settles who it is. */
function isSameProcess({ pid, started }) {
  return isAlive(pid) && (started === null || started === processStart(pid));
}

/** Start time of a process in clock ticks since boot: field 22 of /proc/<pid>/stat (proc(5)); null where there is none. */
function processStart(pid) {
  try {
    const stat = fs.readFileSync(`/proc/${pid}/stat`, 'utf8');
    return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? null;
  } catch {
    return null;
  }
}
