import { randomInt } from 'node:crypto';
import { expect, it } from '@jest/globals';
import { ENOUGH, longestRun, runFaults } from './fault-run.js';

/** Seconds of work under kills and the seed; `npm run test:fault` sets both. */
const seconds = Number(process.env['KITHBOOK_FAULT_SECONDS'] ?? 35);
const seed = Number(process.env['KITHBOOK_FAULT_SEED'] ?? randomInt(1_000_000));

/** The fault run on one backend as a test. Call inside a `describe`. */
export function faultSuite(backend: string, redisUrl: string | undefined): void {
  it(
    `loses no job and does nothing twice while API and workers are killed (seed ${seed})`,
    async () => {
      const { violations, complaints, kills, ...counts } = await runFaults({ redisUrl, seconds, seed });
      process.stderr.write(`fault run on ${backend}: ${JSON.stringify({ ...counts, kills })}\n`);
      expect({ violations, complaints }).toEqual({ violations: [], complaints: [] });
      // A run that did next to nothing proves nothing.
      expect(Object.values(kills).reduce((sum, count) => sum + count, 0)).toBeGreaterThanOrEqual(ENOUGH.kills);
      expect(counts.transfers).toBeGreaterThanOrEqual(ENOUGH.transfers);
      expect(counts.absorbed).toBeGreaterThanOrEqual(ENOUGH.absorbed);
    },
    longestRun(seconds),
  );
}
