import { holdRow } from './transfer-world.js';

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
  await barrier.untilWaiting(1, one);
  const other = second();
  // One that does not come to the lock is refused before.
  await barrier.untilWaiting(2, Promise.race([one, other]));
  await barrier.releaseWhenWaiting(1);
  return Promise.all([one, other]);
}
