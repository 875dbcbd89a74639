import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  diversityAfterBirth,
  diversityAfterDeath,
  diversityAfterOffspring,
  diversityState,
  geneDiversity,
  groupMean,
  inbreeding,
  kinship,
  meanKinship,
  type DiversityState,
} from '../index.js';
import { pedigreeOf, pedigreeOfPairs, uncertainWorld, type World } from '../pedigree/pedigree-worlds.js';

const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

function stateOf(world: World): { state: DiversityState; kinshipOf: (a: number, b: number) => number } {
  const pedigree = pedigreeOf(world);
  const f = inbreeding(pedigree);
  const state = diversityState(f, meanKinship(pedigree, f, world.group), world.group);
  return { state, kinshipOf: (a, b) => (a < 0 || b < 0 ? 0 : kinship(pedigree, f, a, b)) };
}

/** Gene diversity from scratch. */
const diversityOf = (world: World): number => 1 - stateOf(world).state.populationMeanKinship;

const withYoung = (world: World, sire: number, dam: number, count: number): World => ({
  ...world,
  sire: [...world.sire, ...new Array<number>(count).fill(sire)],
  dam: [...world.dam, ...new Array<number>(count).fill(dam)],
  group: Uint8Array.from([...world.group, ...new Array<number>(count).fill(1)]),
});

const worldAndPair = uncertain.chain((world) => {
  const animal = fc.integer({ min: -1, max: world.sire.length - 1 });
  return fc.tuple(fc.constant(world), animal, animal);
});

describe('changes of gene diversity', () => {
  it('by a birth, by hand: a pair of founders and their young', () => {
    // Two founders: mean kinship ¼. With one young: (3·½ + 4·¼)/9 = 5/18.
    const pair = pedigreeOfPairs([
      [-1, -1],
      [-1, -1],
    ]);
    const group = Uint8Array.of(1, 1);
    const f = inbreeding(pair);
    const state = diversityState(f, meanKinship(pair, f, group), group);
    expect(geneDiversity(groupMean(state.meanKinship, group))).toBe(0.75);
    expect(diversityAfterBirth(state, { sire: 0, dam: 1, kinship: 0 })).toBeCloseTo(13 / 18, 14);
    expect(diversityAfterDeath(state, 0)).toBe(0.5);
  });

  it('by births are those of a computation from scratch, for any pair and any number of young', () => {
    fc.assert(
      fc.property(worldAndPair, ([world, sire, dam]) => {
        const { state, kinshipOf } = stateOf(world);
        const pair = { sire, dam, kinship: kinshipOf(sire, dam) };
        expect(diversityAfterBirth(state, pair)).toBeCloseTo(diversityOf(withYoung(world, sire, dam, 1)), 12);
        if (sire < 0 || dam < 0) return; // an unknown parent would be another one for each young there
        const after = diversityAfterOffspring(state, pair, 4);
        after.forEach((value, at) => expect(value).toBeCloseTo(diversityOf(withYoung(world, sire, dam, at + 1)), 12));
      }),
    );
  });

  it('by young of an unknown mate count it as one animal', () => {
    fc.assert(
      fc.property(worldAndPair, ([world, sire]) => {
        if (sire < 0) return;
        const { state } = stateOf(world);
        const after = diversityAfterOffspring(state, { sire, dam: -1, kinship: 0 }, 3);
        const mate = world.sire.length;
        const withMate = withYoung({ ...world, group: world.group }, -1, -1, 1);
        withMate.group[mate] = 0;
        expect(after[2]).toBeCloseTo(diversityOf(withYoung(withMate, sire, mate, 3)), 12);
      }),
    );
  });

  it('by a death are those of a computation from scratch', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const { state } = stateOf(world);
        const members = [...world.group.keys()].filter((i) => world.group[i] === 1);
        for (const animal of members.slice(0, 5)) {
          const without = world.group.slice();
          without[animal] = 0;
          if (members.length === 1) expect(() => diversityAfterDeath(state, animal)).toThrow('is the only member');
          else expect(diversityAfterDeath(state, animal)).toBeCloseTo(diversityOf({ ...world, group: without }), 12);
        }
      }),
    );
  });

  it('by an unrelated founder are always for the better', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const { state } = stateOf(world);
        const after = diversityAfterBirth(state, { sire: -1, dam: -1, kinship: 0 });
        expect(after).toBeGreaterThan(1 - state.populationMeanKinship);
      }),
    );
  });

  it('are refused for animals that are no members and for no offspring', () => {
    const { state } = stateOf({
      sire: [-1, -1],
      dam: [-1, -1],
      sires: new Map(),
      dams: new Map(),
      group: Uint8Array.of(1, 0),
    });
    expect(() => diversityAfterDeath(state, 1)).toThrow('animal 1 is no member of the group');
    expect(() => diversityAfterOffspring(state, { sire: 0, dam: 1, kinship: 0 }, 0)).toThrow(RangeError);
    expect(() => diversityAfterOffspring(state, { sire: 0, dam: 1, kinship: 0 }, 1.5)).toThrow(RangeError);
  });
});
