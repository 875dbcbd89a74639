import { readdirSync } from 'node:fs';
import { expect, it } from '@jest/globals';
import { analyse } from '../../apps/pedigree/src/analyse.js';
import { readPedigreeFile } from '../../apps/pedigree/src/read-csv.js';
import { founderContributions } from '../../libs/genetics/index.js';
import { askPedigree } from './pedigree-command.js';
import { describeWithReference, referencePath, referenceTable } from './reference-folder.js';

/**
 * Real and simulated pedigrees of the reference folder through the pedigree command. Expected values were computed by
 * independent programs named in that folder's README; O numbers are those of its checks.json. The files print 10 to 12
 * digits, which sets the tolerance of the tables.
 */
const ask = (set: string, ...options: string[]) => askPedigree(referencePath(`pedigrees/${set}.csv`), ...options);

/** Sets that a table of the given kind exists for, e.g. every `expected/F_*.csv`. */
const setsWith = (kind: string): string[] => {
  const name = new RegExp(`^${kind}_(.+)\\.csv$`);
  return readdirSync(referencePath('expected')).flatMap((file) => name.exec(file)?.[1] ?? []);
};

/** Largest difference from a column of a table, over all rows; rows without a counterpart make it NaN. */
const largestDifference = (
  rows: Record<string, string>[],
  column: string,
  actual: (id: string) => number | undefined,
) =>
  rows.reduce((largest, row) => {
    const difference = Math.abs((actual(row['id'] ?? '') ?? NaN) - Number(row[column]));
    return difference <= largest ? largest : difference;
  }, 0);

const expectFigures = (population: Record<string, number> | null, expected: Record<string, number>): void => {
  for (const [name, value] of Object.entries(expected)) expect(population?.[name]).toBeCloseTo(value, 7);
};

describeWithReference('published and real pedigrees', () => {
  it('O08 an inbred human isolate (Chapman & Jacquard 1971)', () => {
    const { inbreeding } = ask('jicaque');
    const inbred = Object.fromEntries(Object.entries(inbreeding).filter(([, f]) => f !== 0));
    expect(inbred).toEqual({
      15: 0.125,
      16: 0.125,
      17: 0.0625,
      18: 0.0625,
      Julio: 0.1171875,
      Mencha: 0.1171875,
      Son1: 0.18359375,
      Son2: 0.18359375,
    });
  });

  it('O09 380 Barbary sheep of two founders (López-Cortegano et al. 2021, Heredity)', () => {
    const { animals, defects, inbreeding, population } = ask('arrui');
    expect(animals).toBe(380);
    // A mother born five years after her offspring, as the published file has it: a warning, and computing goes on.
    expect(defects.map(({ kind, ids }) => [kind, ids])).toEqual([['date_conflict', ['306', '310']]]);
    expectFigures(population, {
      size: 80,
      meanInbreeding: 0.4855682373,
      meanKinship: 0.519279615879,
      geneDiversity: 0.480720384121,
      founderGenomeEquivalents: 0.9628723807, // below 1 is right: mean kinship is above 1/2
      founderEquivalents: 1.769424319,
      founderEquivalentsKnownOnly: 1.769424319,
      effectiveAncestors: 1.769424319,
    });
    const all = Object.values(inbreeding);
    expect(Math.max(...all)).toBe(0.62890625);
    expect(all.filter((f) => f > 0)).toHaveLength(374);
    expect(all.reduce((sum, f) => sum + f, 0) / 380).toBeCloseTo(0.4301545795641447, 8);
  });

  it('O10 1,279 dorcas gazelles, 15 of them half known (López-Cortegano et al. 2021, Heredity)', () => {
    const { animals, inbreeding, population } = ask('dorcas');
    expect(animals).toBe(1279);
    expectFigures(population, {
      size: 283,
      meanInbreeding: 0.07507633931,
      meanKinship: 0.0889647363573,
      geneDiversity: 0.911035263643,
      founderGenomeEquivalents: 5.620204369,
      founderEquivalents: 14.89728139,
      founderEquivalentsKnownOnly: 13.38646808,
      effectiveAncestors: 12.9906035,
    });
    expect(Math.max(...Object.values(inbreeding))).toBe(0.4716796875);
  });

  it('O11 6,547 dairy cattle, animals without offspring as reference (Vazquez et al. 2010)', () => {
    const { animals, inbreeding, population } = ask('pedCows');
    expect(animals).toBe(6547);
    expectFigures(population, { meanKinship: 0.0111879357848, geneDiversity: 0.988812064215 });
    const all = Object.values(inbreeding);
    expect(Math.max(...all)).toBe(0.2578125);
    expect(all.filter((f) => f > 0)).toHaveLength(612);
    expect(all.reduce((sum, f) => sum + f, 0) / 6547).toBeCloseTo(0.0018207065855544524, 8);
  });
});

describeWithReference('tables of the reference folder', () => {
  it('F of every animal of every F table', () => {
    const sets = setsWith('F');
    expect(sets.length).toBeGreaterThanOrEqual(12);
    for (const set of sets) {
      const rows = referenceTable(`expected/F_${set}.csv`);
      const { inbreeding } = ask(set);
      expect(Object.keys(inbreeding)).toHaveLength(rows.length);
      expect([set, largestDifference(rows, 'F', (id) => inbreeding[id]) < 1e-10]).toEqual([set, true]);
    }
  });

  it('mean kinship of every member of every MK table', () => {
    const sets = setsWith('MK');
    expect(sets.length).toBeGreaterThanOrEqual(11);
    for (const set of sets) {
      const rows = referenceTable(`expected/MK_${set}.csv`);
      const { meanKinship } = ask(set);
      expect(Object.keys(meanKinship)).toHaveLength(rows.length);
      const column = set.startsWith('synth') ? 'mean_kinship_with_living' : 'mean_kinship_incl_self';
      const difference = largestDifference(rows, column, (id) => meanKinship[id]);
      expect([set, difference < 1e-10]).toEqual([set, true]);
    }
  });

  it('kinship of every pair of every kinship table', () => {
    const sets = setsWith('kinship');
    expect(sets.length).toBeGreaterThanOrEqual(5);
    for (const set of sets) {
      const rows = referenceTable(`expected/kinship_${set}.csv`);
      const cells = rows.flatMap(({ id, ...row }) =>
        Object.entries(row).map(([other, f]) => [`${id},${other}`, Number(f)] as const),
      );
      expect(cells).toHaveLength(rows.length ** 2);
      const { pairs = [] } = ask(set, ...cells.flatMap(([pair]) => ['--pair', pair]));
      cells.forEach(([, f], i) => expect(pairs[i]?.kinship).toBeCloseTo(f, 10));
    }
  });

  it('known ancestry and mean kinship with the group of every animal of every animals table', () => {
    const sets = setsWith('animals');
    expect(sets.length).toBeGreaterThanOrEqual(9);
    for (const set of sets) {
      const rows = referenceTable(`expected/animals_${set}.csv`);
      const { animals, computed } = analyse(readPedigreeFile(referencePath(`pedigrees/${set}.csv`)));
      const valueOf = (values: Float64Array | undefined) => (id: string) => values?.[animals.numberOf.get(id) ?? -1];
      const known = largestDifference(rows, 'known_ancestry_share', valueOf(computed?.knownAncestry));
      const kinship = largestDifference(rows, 'mean_kinship_with_ref', valueOf(computed?.meanKinship));
      expect([set, rows.length, known < 1e-9, kinship < 1e-10]).toEqual([set, animals.ids.length, true, true]);
    }
  });

  it('contribution of every founder, unknown parents included, of every founders table', () => {
    const sets = setsWith('founders');
    expect(sets.length).toBeGreaterThanOrEqual(10);
    for (const set of sets) {
      const { animals, computed } = analyse(readPedigreeFile(referencePath(`pedigrees/${set}.csv`)));
      if (!computed) throw new Error(`${set} was refused`);
      const { founder, unknownSire, unknownDam } = founderContributions(computed.pedigree, computed.reference.members);
      const actual = new Map<string, number>();
      animals.ids.forEach((id, i) => {
        if (founder[i]) actual.set(id, founder[i]);
        if (unknownSire[i]) actual.set(`?s:${id}`, unknownSire[i]);
        if (unknownDam[i]) actual.set(`?d:${id}`, unknownDam[i]);
      });
      const rows = referenceTable(`expected/founders_${set}.csv`);
      expect([set, actual.size]).toEqual([set, rows.length]);
      for (const row of rows) expect(actual.get(row['founder'] ?? '')).toBeCloseTo(Number(row['contribution']), 10);
    }
  });
});
