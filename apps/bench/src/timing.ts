/** Milliseconds a piece of work takes, and its result. */
export function timed<T>(work: () => T): [result: T, milliseconds: number] {
  const started = performance.now();
  const result = work();
  return [result, performance.now() - started];
}

/** The same for work that is awaited. */
export async function timedAsync<T>(work: () => Promise<T>): Promise<[result: T, milliseconds: number]> {
  const started = performance.now();
  const result = await work();
  return [result, performance.now() - started];
}

/** Milliseconds of the fastest of `times` runs of the same work: what the machine can do while others leave it alone. */
export function fastestOf(times: number, work: () => unknown): number {
  return Math.min(...Array.from({ length: times }, () => timed(work)[1]));
}

/** The smallest value that at least `share` of the values do not exceed (nearest rank). NaN of no values. */
export function percentile(values: readonly number[], share: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? NaN;
}
