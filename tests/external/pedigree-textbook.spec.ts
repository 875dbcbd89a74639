import { describe, expect, it } from '@jest/globals';
import { analyse } from '../../apps/pedigree/src/analyse.js';
import { parsePedigree } from '../../apps/pedigree/src/read-csv.js';
import { founderContributions } from '../../libs/genetics/index.js';
import { askPedigree, csvOf, withFile, type PedigreeAnswer } from './pedigree-command.js';

/**
 * Textbook pedigrees and their published or closed-form values, written out so that every clone checks them. Each goes
 * through the pedigree command. O numbers are those of the reference folder's checks.json.
 */
const ask = (animals: string, ...options: string[]): PedigreeAnswer =>
  withFile(csvOf(animals), (path) => askPedigree(path, ...options));

/** A line of generations, from a rule that writes one generation. */
const generations = (last: number, write: (t: number) => string): string =>
  Array.from({ length: last + 1 }, (_, t) => write(t)).join(' ');

const contributionsOf = (animals: string): Record<string, number> => {
  const { computed, animals: numbered } = analyse(parsePedigree(csvOf(animals)));
  if (!computed) throw new Error('refused');
  const { founder } = founderContributions(computed.pedigree, computed.reference.members);
  return Object.fromEntries(numbered.ids.map((id, i) => [id, founder[i] ?? 0] as const).filter(([, p]) => p !== 0));
};

describe('O01 F of X in classic relationships (Wright 1922, path formula; exact fractions)', () => {
  it.each([
    ['parent and offspring', 0.25, 'A,,,M B,,,F C,A,B,F X,A,C,F'],
    ['full siblings', 0.25, 'A,,,M B,,,F C,A,B,M D,A,B,F X,C,D,F'],
    ['half siblings', 0.125, 'A,,,M B,,,F C,,,F D,A,B,M E,A,C,F X,D,E,F'],
    ['first cousins', 0.0625, 'A,,,M B,,,F C,A,B,M D,A,B,F E,,,F G,,,M H,C,E,M I,G,D,F X,H,I,M'],
    ['double first cousins', 0.125, 'A,,,M B,,,F C,,,M D,,,F E,A,B,M G,A,B,M H,C,D,F I,C,D,F J,E,H,M K,G,I,F X,J,K,F'],
    ['half first cousins', 0.03125, 'A,,,M B,,,F C,,,F D,A,B,M E,A,C,F G,,,F H,,,M I,D,G,M J,H,E,F X,I,J,F'],
    [
      'second cousins',
      0.015625,
      'A,,,M B,,,F C,A,B,M D,A,B,F E,,,F G,,,M H,C,E,M I,G,D,F J,,,F K,,,M L,H,J,M N,K,I,F X,L,N,F',
    ],
    ['uncle and niece', 0.125, 'A,,,M B,,,F C,A,B,M D,A,B,F E,,,M G,E,D,F X,C,G,M'],
    ['half uncle and niece', 0.0625, 'A,,,M B,,,F B2,,,F C,A,B,M D,A,B2,F E,,,M G,E,D,F X,C,G,M'],
    ['grandparent and grandchild', 0.125, 'A,,,M B,,,F C,A,B,M D,,,F G,C,D,F X,A,G,F'],
    ['three-quarter siblings', 0.1875, 'A,,,M B,,,F C,A,B,M D,A,B,M E,,,F G,C,E,M H,D,E,F X,G,H,F'],
  ])('%s: %d', (_, expected, animals) => {
    const answer = ask(animals);
    expect(answer.inbreeding['X']).toBe(expected);
    expect(answer.defects).toEqual([]);
  });
});

describe('systems of mating', () => {
  it('O02 repeated full-sib mating (Falconer & Mackay ch. 5: F_t = (1 + 2F_{t-1} + F_{t-2})/4)', () => {
    const expected = [
      0, 0, 0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.78515625, 0.826171875, 0.859375, 0.88623046875,
      0.907958984375, 0.925537109375, 0.939758300781, 0.951263427734, 0.960571289062, 0.968101501465, 0.974193572998,
      0.979122161865, 0.983109474182,
    ];
    const { inbreeding } = ask(
      generations(20, (t) => (t === 0 ? 'M0,,,M F0,,,F' : `M${t},M${t - 1},F${t - 1},M F${t},M${t - 1},F${t - 1},F`)),
    );
    expected.forEach((f, t) => expect(inbreeding[`M${t}`]).toBeCloseTo(f, 10));
  });

  it('O03 daughters back to one sire (closed form: F_t = (1 + 2F_{t-1})/4)', () => {
    const expected = [
      0, 0, 0.25, 0.375, 0.4375, 0.46875, 0.484375, 0.4921875, 0.49609375, 0.498046875, 0.4990234375, 0.49951171875,
      0.499755859375,
    ];
    const { inbreeding } = ask(`S,,,M ${generations(12, (t) => (t === 0 ? 'D0,,,F' : `D${t},S,D${t - 1},F`))}`);
    expected.forEach((f, t) => expect(inbreeding[`D${t}`]).toBeCloseTo(f, 10));
  });

  it('O04 repeated selfing (closed form: F_t = 1 - (1/2)^t)', () => {
    const expected = [
      0, 0.5, 0.75, 0.875, 0.9375, 0.96875, 0.984375, 0.9921875, 0.99609375, 0.998046875, 0.9990234375, 0.99951171875,
      0.999755859375,
    ];
    const answer = ask(generations(12, (t) => (t === 0 ? 'G0,,,H' : `G${t},G${t - 1},G${t - 1},H`)));
    expected.forEach((f, t) => expect(answer.inbreeding[`G${t}`]).toBeCloseTo(f, 10));
    expect(answer.defects).toEqual([]);
  });

  it('O05 double first cousins, two males and two females (Wright 1921)', () => {
    const expected = [0, 0, 0, 0.125, 0.1875, 0.25, 0.3125, 0.3671875, 0.41796875, 0.46484375, 0.5078125];
    const { inbreeding } = ask(
      generations(10, (t) => {
        if (t === 0) return 'Ma0,,,M Mb0,,,M Fa0,,,F Fb0,,,F';
        const [a, b] = [`Ma${t - 1},Fa${t - 1}`, `Mb${t - 1},Fb${t - 1}`];
        return `Ma${t},${a},M Fb${t},${a},F Mb${t},${b},M Fa${t},${b},F`;
      }),
    );
    expected.forEach((f, t) => expect(inbreeding[`Ma${t}`]).toBeCloseTo(f, 10));
  });
});

describe('published pedigrees', () => {
  it('O06 the bull Roan Gauntlet, F = 9/64 (Wright 1922; pedigree from memory, arithmetic verified)', () => {
    const animals = `id,sire,dam,sex
Lancaster Comet,,,M
Virtue,,,F
Champion of England,Lancaster Comet,Virtue,M
Lord Raglan,,,M
Duchess of Gloster 9,,,F
Mistletoe dam,,,F
Carmine dam,,,F
Grand Duke of Gloster,Champion of England,Duchess of Gloster 9,M
Mistletoe,Lord Raglan,Mistletoe dam,F
Mimulus,Champion of England,Mistletoe,F
Carmine,Lord Raglan,Carmine dam,F
Princess Royal,Champion of England,Carmine,F
Royal Duke of Gloster,Grand Duke of Gloster,Mimulus,M
Roan Gauntlet,Royal Duke of Gloster,Princess Royal,M
`;
    const answer = withFile(animals, (path) => askPedigree(path, '--pair', 'Royal Duke of Gloster,Princess Royal'));
    expect(answer.inbreeding['Roan Gauntlet']).toBe(0.140625);
    expect(answer.pairs).toEqual([{ a: 'Royal Duke of Gloster', b: 'Princess Royal', kinship: 0.140625 }]);
  });

  it('O07 relationships, twice the kinship of each pair (Mrode 2005, Table 2.1)', () => {
    const expected = [
      [1, 0, 0.5, 0.5, 0.5, 0.25],
      [0, 1, 0.5, 0, 0.25, 0.625],
      [0.5, 0.5, 1, 0.25, 0.625, 0.5625],
      [0.5, 0, 0.25, 1, 0.625, 0.3125],
      [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875],
      [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
    ];
    const pairs = expected.flatMap((row, i) => row.flatMap((_, j) => ['--pair', `${i + 1},${j + 1}`]));
    const answer = ask('1,, 2,, 3,1,2 4,1, 5,4,3 6,5,2', ...pairs);
    expect(answer.pairs?.map((pair) => 2 * pair.kinship)).toEqual(expected.flat());
  });

  it.each([
    [
      'Fernando & Grossman 1990, TAG 80:75',
      '1,,,M 2,,,F 3,1,,M 4,1,2,F 5,3,4,M 6,1,4,F 7,5,6,M 8,5,6,F',
      { 1: 0, 2: 0, 3: 0, 4: 0, 5: 0.125, 6: 0.25, 7: 0.28125, 8: 0.28125 },
    ],
    [
      'Wray 1990, Biometrics 46:177',
      '1,, 2,, 3,2,1 4,2,1 5,3,4 6,2,4 7,5,6 8,5,7',
      { 1: 0, 2: 0, 3: 0, 4: 0, 5: 0.25, 6: 0.25, 7: 0.3125, 8: 0.46875 },
    ],
  ])('O08 inbred animals of %s', (_, animals, expected) => {
    expect(ask(animals).inbreeding).toEqual(expected);
  });
});

describe('population figures', () => {
  const founders =
    'f1,,,M f2,,,F f3,,,M f4,,,F a1,f1,f2,M a2,f1,f2,F b1,f3,f4,F c1,a1,b1,M,,living c2,a1,b1,F,,living c3,a1,b1,F,,living d1,a1,a2,M,,living d2,f3,a2,F,,living';

  it('O12 four founders, five living animals (exact fractions, by hand)', () => {
    const { population, meanKinship, inbreeding } = ask(founders);
    expect(population?.['size']).toBe(5);
    expect(population?.['founderEquivalents']).toBeCloseTo(3.773584905660377, 9);
    expect(population?.['founderEquivalentsKnownOnly']).toBeCloseTo(3.773584905660377, 9);
    expect(population?.['effectiveAncestors']).toBeCloseTo(3.3333333333333335, 9);
    expect(population?.['meanKinship']).toBeCloseTo(0.255, 9);
    expect(population?.['geneDiversity']).toBeCloseTo(0.745, 9);
    expect(population?.['founderGenomeEquivalents']).toBeCloseTo(1.9607843137254901, 9);
    expect(population?.['meanInbreeding']).toBeCloseTo(0.05, 12);
    expect(population?.['knownAncestry']).toBe(1);
    expect(inbreeding['d1']).toBe(0.25);
    const mk = { c1: 0.2625, c2: 0.2625, c3: 0.2625, d1: 0.275, d2: 0.2125 };
    expect(Object.keys(meanKinship)).toEqual(Object.keys(mk));
    for (const [id, value] of Object.entries(mk)) expect(meanKinship[id]).toBeCloseTo(value, 9);
    const p = contributionsOf(founders);
    expect(Object.keys(p)).toEqual(['f1', 'f2', 'f3', 'f4']);
    for (const [id, value] of Object.entries({ f1: 0.3, f2: 0.3, f3: 0.25, f4: 0.15 }))
      expect(p[id]).toBeCloseTo(value, 9);
  });

  it('O13 eight founders through one pair (exact fractions)', () => {
    const { population, meanKinship } = ask(
      'f1,,,F f2,,,M f3,,,F f4,,,M f5,,,F f6,,,M f7,,,F f8,,,M g1,f2,f1,M g2,f4,f3,F g3,f6,f5,M g4,f8,f7,F h1,g1,g2,M h2,g3,g4,F ' +
        'x1,h1,h2,F,,living x2,h1,h2,M,,living x3,h1,h2,F,,living x4,h1,h2,M,,living x5,h1,h2,F,,living x6,h1,h2,M,,living',
    );
    expect(population?.['founderEquivalents']).toBeCloseTo(8, 9);
    expect(population?.['effectiveAncestors']).toBeCloseTo(2, 9);
    expect(population?.['meanKinship']).toBeCloseTo(0.2916666666666667, 9);
    expect(population?.['geneDiversity']).toBeCloseTo(0.7083333333333334, 9);
    expect(population?.['founderGenomeEquivalents']).toBeCloseTo(1.7142857142857142, 9);
    expect(meanKinship['x1']).toBeCloseTo(0.291666666667, 9);
  });

  it('O14 one sire, ten dams, one offspring each (closed form)', () => {
    const dams = Array.from({ length: 10 }, (_, i) => `d${i},,,F`);
    const young = Array.from({ length: 10 }, (_, i) => `o${i},S,d${i},${i % 2 ? 'F' : 'M'},,living`);
    const animals = ['S,,,M', ...dams, ...young].join(' ');
    const { population } = ask(animals);
    expect(population?.['founderEquivalents']).toBeCloseTo(3.6363636363636362, 9);
    expect(population?.['effectiveAncestors']).toBeCloseTo(3.6363636363636362, 9);
    expect(population?.['meanKinship']).toBeCloseTo(0.1625, 9);
    expect(population?.['geneDiversity']).toBeCloseTo(0.8375, 9);
    expect(population?.['founderGenomeEquivalents']).toBeCloseTo(3.0769230769230766, 9);
    const p = contributionsOf(animals);
    expect(p['S']).toBeCloseTo(0.5, 12);
    expect(p['d7']).toBeCloseTo(0.05, 12);
  });
});
