import { type Readable } from 'node:stream';

/** Longest time, in milliseconds, that is spent on what nobody wants. */
const PATIENCE = 5_000;

/**
 * Reads and forgets what is left of a stream: up to `limit` bytes or five seconds. True when it came to its end. Never
 * throws; a stream that broke off has ended.
 */
export async function drain(stream: Readable, limit: number): Promise<boolean> {
  const giveUp = Date.now() + PATIENCE;
  let left = limit;
  try {
    for await (const part of stream.iterator({ destroyOnReturn: false })) {
      left -= (part as Buffer).length;
      if (left < 0 || Date.now() > giveUp) return false;
    }
  } catch {
    return true;
  }
  return true;
}
