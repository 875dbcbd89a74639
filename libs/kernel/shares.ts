import type { FieldProblem } from './decision.js';

/**
 * Ownership shares are whole-number parts of a whole: 1, 1, 1 = one third each; 2, 1, 1 = a half and two quarters. They
 * sum to the whole by construction, which fractions with rounding do not.
 */

/** Largest number of parts in one share; keeps every sum exact. */
export const MAX_SHARE_PARTS = 1_000_000;

/** What is wrong with the parts, one problem each; empty when all is well. `path` is the field of the list, `input.shares`. */
export function checkShares(parts: readonly number[], path: string): FieldProblem[] {
  if (parts.length === 0) {
    return [{ path, message: 'There is no owner.', remedy: 'Name at least one owner with one part.' }];
  }
  return parts.flatMap((part, i) =>
    isPart(part)
      ? []
      : [
          {
            path: `${path}.${i}.parts`,
            message: `${part} is not a whole number of parts from 1 to ${MAX_SHARE_PARTS}.`,
            remedy: 'Write 1, 1, 1 for thirds, or 2, 1 for two thirds and one third.',
          },
        ],
  );
}

/** The same shares in the smallest whole numbers: 2, 4, 2 becomes 1, 2, 1. Throws RangeError for parts `checkShares` refuses. */
export function normaliseShares(parts: readonly number[]): number[] {
  if (parts.length === 0 || !parts.every(isPart)) throw new RangeError(`Not valid shares: ${parts.join(', ')}`);
  const divisor = parts.reduce(greatestCommonDivisor);
  return parts.map((part) => part / divisor);
}

/** Each share as a fraction in lowest terms, in order: 2, 1, 1 becomes 1/2, 1/4, 1/4; a sole owner has 1/1. Throws as above. */
export function formatShares(parts: readonly number[]): string[] {
  const normal = normaliseShares(parts);
  const whole = normal.reduce((sum, part) => sum + part, 0);
  return normal.map((part) => {
    const divisor = greatestCommonDivisor(part, whole);
    return `${part / divisor}/${whole / divisor}`;
  });
}

function isPart(part: number): boolean {
  return Number.isInteger(part) && part >= 1 && part <= MAX_SHARE_PARTS;
}

/** Of two whole numbers, not both 0. */
export function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}
