import { readdirSync } from 'node:fs';
import { describe, expect, it } from '@jest/globals';
import { analyse, type Computed } from '../../apps/pedigree/src/analyse.js';
import { parsePedigree, readPedigreeFile } from '../../apps/pedigree/src/read-csv.js';
import {
  dropGenes,
  founderContributions,
  geneDrop,
  kinshipTies,
  lifeTable,
  longestPaths,
  partialInbreeding,
  relationshipWords,
  seededRandom,
} from '../../libs/genetics/index.js';
import { csvOf } from './pedigree-command.js';
import { describeWithReference, referencePath, referenceTable } from './reference-folder.js';

/**
 * Generations, ancestral and partial inbreeding, gene drop, life table and relationship in words. O numbers are those of the
 * reference folder's checks.json.
 */
interface Answered extends Computed {
  readonly ids: readonly string[];
  readonly numberOf: (id: string) => number;
}

function answered(analysis: ReturnType<typeof analyse>): Answered {
  const { animals, computed } = analysis;
  if (!computed) throw new Error('the pedigree was refused');
  return { ...computed, ids: animals.ids, numberOf: (id) => animals.numberOf.get(id) ?? -1 };
}

const pedigreeOfSet = (set: string): Answered =>
  answered(analyse(readPedigreeFile(referencePath(`pedigrees/${set}.csv`))));
const written = (animals: string): Answered => answered(analyse(parsePedigree(csvOf(animals))));

/** Largest difference between a column of a table and the value of the animal on each row. */
const largestDifference = (rows: Record<string, string>[], column: string, valueOf: (id: string) => number): number =>
  Math.max(...rows.map((row) => Math.abs(valueOf(row['id'] ?? '') - Number(row[column]))));

/** Whether a mean over gene drops lies within 4 of its standard errors of the expected value. */
function expectWithinError(mean: number | undefined, standardError: number | undefined, expected: number): void {
  const errors = Math.abs((mean ?? NaN) - expected) / Math.max(standardError ?? NaN, 1e-9);
  expect(errors < 4 || `${mean} is ${errors} standard errors from ${expected}`).toBe(true);
}

const DROPS = 20_000;

describe('O12, O14 allele retention by gene drop (MacCluer et al. 1986)', () => {
  it('O12 four founders, five living animals (exact, by enumeration of all 2^16 segregations)', () => {
    const { pedigree, reference, numberOf, inbreeding, population } = written(
      'f1,,,M f2,,,F f3,,,M f4,,,F a1,f1,f2,M a2,f1,f2,F b1,f3,f4,F c1,a1,b1,M,,living c2,a1,b1,F,,living ' +
        'c3,a1,b1,F,,living d1,a1,a2,M,,living d2,f3,a2,F,,living',
    );
    const dropped = geneDrop(pedigree, reference.members, DROPS, seededRandom(12));
    const expected = { f1: 0.66796875, f2: 0.66796875, f3: 0.71875, f4: 0.4375 };
    for (const [id, retention] of Object.entries(expected)) {
      const at = numberOf(id);
      expectWithinError(dropped.retention.mean[at], dropped.retention.standardError[at], retention);
    }
    expectWithinError(dropped.geneDiversity.mean, dropped.geneDiversity.standardError, 0.745);
    expectWithinError(
      dropped.distinctGenes.mean,
      dropped.distinctGenes.standardError,
      2 * (2 * 0.66796875 + 0.71875 + 0.4375),
    );
    const d1 = numberOf('d1');
    expectWithinError(dropped.inbreeding.mean[d1], dropped.inbreeding.standardError[d1], inbreeding[d1] ?? NaN);
    expect(population.geneDiversity).toBeCloseTo(0.745, 12);
  });

  it('O12 the alternative fg of Lacy 1989, Σp²/r, from our contributions and the exact retentions', () => {
    const { pedigree, reference, numberOf } = written(
      'f1,,,M f2,,,F f3,,,M f4,,,F a1,f1,f2,M a2,f1,f2,F b1,f3,f4,F c1,a1,b1,M,,living c2,a1,b1,F,,living ' +
        'c3,a1,b1,F,,living d1,a1,a2,M,,living d2,f3,a2,F,,living',
    );
    const { founder } = founderContributions(pedigree, reference.members);
    const dropped = geneDrop(pedigree, reference.members, DROPS, seededRandom(21));
    const sum = ['f1', 'f2', 'f3', 'f4'].reduce((total, id) => {
      const at = numberOf(id);
      return total + (founder[at] ?? NaN) ** 2 / (dropped.retention.mean[at] ?? NaN);
    }, 0);
    expect(1 / sum).toBeCloseTo(2.4518290533, 1);
  });

  it('O14 one sire, ten dams, one offspring each (closed form: 1 − (1/2)^10 and 1/2)', () => {
    const dams = Array.from({ length: 10 }, (_, i) => `d${i},,,F`);
    const young = Array.from({ length: 10 }, (_, i) => `o${i},S,d${i},,,living`);
    const { pedigree, reference, numberOf } = written(['S,,,M', ...dams, ...young].join(' '));
    const { retention } = geneDrop(pedigree, reference.members, DROPS, seededRandom(14));
    expectWithinError(retention.mean[numberOf('S')], retention.standardError[numberOf('S')], 0.9990234375);
    expect(dams.map((_, i) => retention.mean[numberOf(`d${i}`)])).toEqual(dams.map(() => 0.5));
  });
});

describe('O15 life table', () => {
  it('Gotelli, A Primer of Ecology, Table 3.1 (numbers from memory; the solution of the Euler equation was computed)', () => {
    const table = lifeTable([1, 0.8, 0.4, 0.1, 0], [0, 2, 3, 1, 0]);
    expect(table.netReproduction).toBeCloseTo(2.9, 6);
    expect(table.generationTime).toBeCloseTo(1.4827586206896552, 6);
    expect(table.approximateGrowthRate).toBeCloseTo(0.7180607296, 6);
    expect(table.growthRate).toBeCloseTo(0.7762567386, 6);
    expect(table.finiteRate).toBeCloseTo(2.1733217089, 6);
    expect(table.meanAgeOfMothers).toBeCloseTo(1.2735412906, 6);
  });
});

describeWithReference('history tables of the reference folder', () => {
  it('complete generation equivalents and longest path of every animal of every animals table', () => {
    const sets = readdirSync(referencePath('expected')).flatMap((file) => /^animals_(.+)\.csv$/.exec(file)?.[1] ?? []);
    expect(sets.length).toBeGreaterThanOrEqual(9);
    for (const set of sets) {
      const { generationEquivalents, pedigree, numberOf, ids } = pedigreeOfSet(set);
      const longest = longestPaths(pedigree);
      const rows = referenceTable(`expected/animals_${set}.csv`);
      const valueOf = (values: ArrayLike<number>) => (id: string) => values[numberOf(id)] ?? NaN;
      const depth = largestDifference(rows, 'complete_generation_equivalents', valueOf(generationEquivalents));
      expect([set, rows.length, depth < 1e-9]).toEqual([set, ids.length, true]);
      expect([set, largestDifference(rows, 'max_generation', valueOf(longest))]).toEqual([set, 0]);
    }
  });

  it('ancestral inbreeding and generation equivalents of 380 Barbary sheep (Ballou 1997, by purgeR 1.8.2)', () => {
    const { ancestralInbreeding, generationEquivalents, numberOf } = pedigreeOfSet('arrui');
    const rows = referenceTable('expected/purging_arrui.csv');
    expect(rows).toHaveLength(380);
    expect(rows.filter((row) => Number(row['Fa_ballou_dam_sire']) > 0).length).toBeGreaterThan(300);
    const fa = largestDifference(rows, 'Fa_ballou_dam_sire', (id) => ancestralInbreeding[numberOf(id)] ?? NaN);
    const t = largestDifference(rows, 'equivalent_generations', (id) => generationEquivalents[numberOf(id)] ?? NaN);
    expect([fa < 1e-9, t < 1e-9]).toEqual([true, true]);
  });

  it('partial inbreeding by the two founders of the Barbary sheep sums to the F of every animal', () => {
    const { pedigree, ids, numberOf } = pedigreeOfSet('arrui');
    const [first, second] = ['1', '2'].map((id) => partialInbreeding(pedigree, { founder: numberOf(id) }));
    const rows = referenceTable('expected/F_arrui.csv');
    const sum = (id: string): number => (first?.[numberOf(id)] ?? NaN) + (second?.[numberOf(id)] ?? NaN);
    expect([rows.length, largestDifference(rows, 'F', sum) < 1e-10]).toEqual([ids.length, true]);
  });

  it('a gene drop through 1,279 dorcas gazelles agrees with their F and with the gene diversity of O10', () => {
    const { pedigree, reference, numberOf } = pedigreeOfSet('dorcas');
    const dropped = geneDrop(pedigree, reference.members, 2_000, seededRandom(10));
    expectWithinError(dropped.geneDiversity.mean, dropped.geneDiversity.standardError, 0.911035263643);
    const rows = referenceTable('expected/F_dorcas.csv');
    const squares = rows.map((row) => {
      const f = Number(row['F']);
      const error = Math.sqrt((f * (1 - f)) / 2_000);
      return f === 0 ? 0 : (((dropped.inbreeding.mean[numberOf(row['id'] ?? '')] ?? NaN) - f) / error) ** 2;
    });
    const inbred = rows.filter((row) => Number(row['F']) > 0).length;
    // 1 in expectation; relatives scatter together, so the mean of 1,000 such squares is itself uncertain.
    expect(squares.reduce((total, square) => total + square, 0) / inbred).toBeLessThan(1.5);
    for (const row of rows)
      if (Number(row['F']) === 0) expect(dropped.inbreeding.mean[numberOf(row['id'] ?? '')]).toBe(0);
  });

  it('a gene drop agrees with the kinship of every pair of the isolate (Chapman & Jacquard 1971)', () => {
    const { pedigree, numberOf } = pedigreeOfSet('jicaque');
    const cells = referenceTable('expected/kinship_jicaque.csv').flatMap(({ id = '', ...row }) =>
      Object.entries(row).map(([other, f]) => ({ a: numberOf(id), b: numberOf(other), f: Number(f), shared: 0 })),
    );
    expect(cells).toHaveLength(22 * 22);
    const genes = new Int32Array(2 * pedigree.order.length);
    const random = seededRandom(22);
    const drops = 4_000;
    const gene = (i: number): number => genes[2 * i + (random() < 0.5 ? 0 : 1)] ?? NaN;
    for (let drop = 0; drop < drops; drop++) {
      dropGenes(pedigree, random, genes);
      for (const cell of cells) if (gene(cell.a) === gene(cell.b)) cell.shared++;
    }
    for (const { a, b, f, shared } of cells) {
      const errors = Math.abs(shared / drops - f) / Math.max(Math.sqrt((f * (1 - f)) / drops), 1e-9);
      expect([a, b, errors < 4.5]).toEqual([a, b, true]); // 484 pairs: one beyond 4 would be no surprise
    }
  });
});

describeWithReference('relationship in words of the textbook pedigrees', () => {
  // The parents of X in each; the words are those of genealogy, and of the file's name.
  it.each([
    ['tb_parent_offspring', 'parent and offspring'],
    ['tb_full_sib', 'full siblings'],
    ['tb_half_sib', 'half siblings through the sire'],
    ['tb_first_cousin', 'first cousins'],
    ['tb_double_first_cousin', 'double first cousins'],
    ['tb_half_first_cousin', 'half first cousins'],
    ['tb_second_cousin', 'second cousins'],
    ['tb_uncle_niece', 'aunt or uncle and niece or nephew'],
    ['tb_half_uncle_niece', 'half-aunt or half-uncle and half-niece or half-nephew'],
    ['tb_grandparent_grandchild', 'grandparent and grandchild'],
    ['tb_three_quarter_sibs', 'half siblings through the dam, and first cousins'],
  ])('%s: the parents are %s', (set, phrase) => {
    const { pedigree, inbreeding, numberOf } = pedigreeOfSet(set);
    const x = numberOf('X');
    const [a, b] = [pedigree.sire[x] ?? -1, pedigree.dam[x] ?? -1];
    const ties = kinshipTies(pedigree, inbreeding, a, b);
    expect(relationshipWords(ties).phrase).toBe(phrase);
    expect(ties.kinship).toBeCloseTo(inbreeding[x] ?? NaN, 12); // Wright 1922: F of the young
    expect(ties.sharedAncestors.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 12);
  });

  it('the contributions of all ties are the published F of every inbred animal of the isolate and of the sheep', () => {
    for (const set of ['jicaque', 'arrui']) {
      const { pedigree, inbreeding, numberOf } = pedigreeOfSet(set);
      const rows = referenceTable(`expected/F_${set}.csv`).filter((row) => Number(row['F']) > 0);
      const looked = set === 'arrui' ? rows.filter((_, at) => at % 25 === 0) : rows;
      expect(looked.length).toBeGreaterThanOrEqual(8);
      for (const row of looked) {
        const x = numberOf(row['id'] ?? '');
        const { ties, rest } = kinshipTies(pedigree, inbreeding, pedigree.sire[x] ?? -1, pedigree.dam[x] ?? -1);
        const total = ties.reduce((sum, tie) => sum + tie.contribution, rest);
        expect(total).toBeCloseTo(Number(row['F']), 10);
      }
    }
  });
});
