/** Uniform numbers in [0, 1), one a call. */
export type Random = () => number;

/**
 * A random generator from a seed: mulberry32, a public-domain generator by T. Ettinger (from memory). The same seed gives the
 * same numbers on every machine. 2³² numbers before it repeats: enough for gene drops, not for cryptography.
 *
 * @param seed any integer; its lowest 32 bits count
 */
export function seededRandom(seed: number): Random {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
