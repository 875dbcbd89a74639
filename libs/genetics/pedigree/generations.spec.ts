import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  ancestralInbreeding,
  effectiveSize,
  generationEquivalents,
  inbreeding,
  inbreedingIncrease,
  longestPaths,
  sexRatioEffectiveSize,
} from '../index.js';
import { certainWorld, pedigreeOf, pedigreeOfPairs } from './pedigree-worlds.js';

const certain = fc.array(fc.nat(), { minLength: 1, maxLength: 40 }).map(certainWorld);

const founder = [-1, -1] as const;

describe('complete generation equivalents and longest path', () => {
  // 2 is of 0 and 1, 3 of 2 and somebody unknown, 4 of 3 and 1. By hand: ½(1+0)+½(1+0) = 1; ½(1+1) = 1; ½(1+1)+½(1+0) = 1.5.
  it('sum the known ancestors, each by (1/2)^n', () => {
    const line = pedigreeOfPairs([founder, founder, [0, 1], [2, -1], [3, 1]]);
    expect([...generationEquivalents(line)]).toEqual([0, 0, 1, 1, 1.5]);
    expect([...longestPaths(line)]).toEqual([0, 0, 1, 2, 3]);
  });

  it('count candidates by probability, and the longest path through any of them', () => {
    const sires = new Map([
      [
        3,
        [
          { parent: 0, probability: 0.75 },
          { parent: 2, probability: 0.25 },
        ],
      ],
    ]);
    const line = pedigreeOf({ sire: [-1, -1, 0, -1], dam: [-1, -1, 1, 1], sires, dams: new Map() });
    expect(generationEquivalents(line)[3]).toBe(0.5 * (1 + 0.25) + 0.5);
    expect([...longestPaths(line)]).toEqual([0, 0, 1, 2]);
  });

  it('are at most the longest path', () => {
    fc.assert(
      fc.property(certain, (world) => {
        const pedigree = pedigreeOf(world);
        const longest = longestPaths(pedigree);
        expect(generationEquivalents(pedigree).every((t, i) => t >= 0 && t <= (longest[i] ?? 0))).toBe(true);
      }),
    );
  });
});

describe('ancestral inbreeding', () => {
  it('is what inbred ancestors handed on (Ballou 1997), by hand', () => {
    // 4 is inbred by 1/4 (full siblings); 5 is its young by a founder: ½·¼; 6 that of 5 and 4: ½(⅛ + ⅞·F_5) + ½·¼.
    const line = pedigreeOfPairs([founder, founder, [0, 1], [0, 1], [2, 3], [0, 4], [5, 4]]);
    const f = inbreeding(line);
    const expected6 = 0.5 * (0.125 + 0.875 * (f[5] ?? 0)) + 0.5 * 0.25;
    expect([...ancestralInbreeding(line, f)]).toEqual([0, 0, 0, 0, 0, 0.125, expected6]);
    expect(f[5]).toBe(0.25);
  });

  it('lies between 0 and 1 and is 0 where no ancestor is inbred', () => {
    fc.assert(
      fc.property(certain, (world) => {
        const pedigree = pedigreeOf(world);
        const f = inbreeding(pedigree);
        expect(ancestralInbreeding(pedigree, f).every((value) => value >= 0 && value <= 1)).toBe(true);
        expect(ancestralInbreeding(pedigree, new Float64Array(f.length)).some(Boolean)).toBe(false);
      }),
    );
  });
});

describe('effective population size', () => {
  it('is N where F rose as in an ideal population of N (closed form: F_t = 1 − (1 − 1/(2N))^(t − 1))', () => {
    const t = Float64Array.of(2, 3.5, 7, 12);
    const f = t.map((generations) => 1 - (1 - 1 / (2 * 25)) ** (generations - 1));
    const result = effectiveSize(f, t, Uint8Array.of(1, 1, 1, 1));
    expect(result?.size).toBeCloseTo(25, 9);
    expect(result?.standardError).toBeCloseTo(0, 6);
    expect(result?.counted).toBe(4);
  });

  it('of one line of full siblings approaches 2.618, the limit of repeated full-sib mating', () => {
    // Falconer & Mackay, ch. 5: ΔF tends to 1 − (1 + √5)/4 = 0.19098, so Ne = 1/(2ΔF) = 2.618.
    const parents = Array.from({ length: 400 }, (_, i) =>
      i < 2 ? founder : ([i - 2 - (i % 2), i - 1 - (i % 2)] as const),
    );
    const line = pedigreeOfPairs(parents);
    const last = Uint8Array.from(parents, (_, i) => (i >= 398 ? 1 : 0));
    const deltaF = 1 - (1 + Math.sqrt(5)) / 4;
    // F is so near 1 after 199 generations that 1 − F has lost its digits: look at generation 50.
    const fiftieth = Uint8Array.from(parents, (_, i) => (i === 100 || i === 101 ? 1 : 0));
    const f = inbreeding(line);
    const t = generationEquivalents(line);
    expect(effectiveSize(f, t, fiftieth)?.size).toBeCloseTo(1 / (2 * deltaF), 1);
    expect(effectiveSize(f, t, fiftieth)?.standardError).toBe(0);
    expect(t[399]).toBe(199);
    expect(effectiveSize(f, t, last)?.counted).toBe(2);
  });

  it('leaves out animals of at most one generation, and has no answer without others', () => {
    expect(inbreedingIncrease(0, 1)).toBeNull();
    const f = Float64Array.of(0.25, 0);
    expect(effectiveSize(f, Float64Array.of(2, 1), Uint8Array.of(1, 1))?.size).toBe(2);
    expect(effectiveSize(f, Float64Array.of(2, 1), Uint8Array.of(0, 1))).toBeNull();
    expect(effectiveSize(f, Float64Array.of(2, 3), Uint8Array.of(0, 1))?.size).toBe(Infinity);
    expect(() => effectiveSize(f, f, new Uint8Array(2))).toThrow('the reference group has no members');
  });

  it('has the standard error of a ratio', () => {
    // ΔF 0.1 and 0.3 (t = 2): mean 0.2, Ne 2.5, standard error of the mean 0.1, times 2·Ne² = 12.5.
    const result = effectiveSize(Float64Array.of(0.1, 0.3), Float64Array.of(2, 2), Uint8Array.of(1, 1));
    expect(result?.size).toBeCloseTo(2.5, 12);
    expect(result?.standardError).toBeCloseTo(1.25, 12);
  });

  it('of a sex ratio is four times the harmonic part (Wright 1931)', () => {
    expect(sexRatioEffectiveSize(50, 50)).toBe(100);
    expect(sexRatioEffectiveSize(1, 99)).toBeCloseTo(3.96, 12);
    expect([sexRatioEffectiveSize(0, 9), sexRatioEffectiveSize(0, 0)]).toEqual([0, 0]);
    expect(() => sexRatioEffectiveSize(-1, 2)).toThrow(RangeError);
    expect(() => sexRatioEffectiveSize(NaN, 2)).toThrow(RangeError);
  });
});
