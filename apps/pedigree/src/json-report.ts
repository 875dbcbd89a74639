import type { Analysis } from './analyse.js';
import type { Registered } from './registered.js';

/**
 * The figures as JSON text, one object. Where the file is refused `inbreeding` and `meanKinship` are empty and
 * `population` and `depth` are null. `pairs` is there when pairs were asked for, `registered` when animals were registered. Format: docs/pedigree.md.
 */
export function jsonReport(analysis: Analysis, readMs: number, registered?: Registered): string {
  const { animals, defects, computed, timingsMs } = analysis;
  const byId = (values: Float64Array, keep: (i: number) => boolean): Record<string, number> =>
    Object.fromEntries(animals.ids.flatMap((id, i) => (keep(i) ? [[id, values[i] ?? 0] as const] : [])));
  return `${JSON.stringify({
    animals: animals.ids.length,
    defects: defects.map(({ kind, ids, message }) => ({ kind, ids, message })),
    inbreeding: computed ? byId(computed.inbreeding, () => true) : {},
    meanKinship: computed ? byId(computed.meanKinship, (i) => computed.reference.members[i] === 1) : {},
    population: computed?.population ?? null,
    depth: computed?.depth ?? null,
    ...(computed && computed.pairs.length > 0 ? { pairs: computed.pairs } : {}),
    ...(registered ? { registered } : {}),
    timingsMs: { read: readMs, ...timingsMs },
  })}\n`;
}
