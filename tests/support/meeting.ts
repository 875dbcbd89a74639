import { setTimeout as sleep } from 'node:timers/promises';
import { holdRow } from './transfer-world.js';

/** Long enough for a request to come to a lock, in milliseconds. */
const COMING = 250;

/**
 * Lets two requests meet: the row is held, the first comes to wait for it, then the second, and then it is let go. Which of them has
 * been waiting longer goes first, so both orders can be tried.
 */
export async function meet<A, B>(
  url: string,
  row: { table: Parameters<typeof holdRow>[1]; id: string },
  first: () => Promise<A>,
  second: () => Promise<B>,
): Promise<[A, B]> {
  const barrier = await holdRow(url, row.table, row.id);
  const one = first();
  await sleep(COMING);
  const other = second();
  await sleep(COMING);
  await barrier.releaseWhenWaiting(1);
  return Promise.all([one, other]);
}
