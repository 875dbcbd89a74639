import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { birthYear, changedSince, type PaperAnimal, paperLines } from './record-paper.core.js';

const hatchling: PaperAnimal = {
  animalId: 'a',
  registerNumber: 'HJ4-K7P-QR9',
  kind: 'individual',
  scientificName: 'Testudo hermanni',
  commonName: "Hermann's tortoise",
  sex: 'female',
  sexMethod: 'tail length',
  sexConfidence: 'guess',
  birthManner: 'hatched',
  birthEdtf: '2026-05~',
  sires: [],
  dams: ['WX3-47N-MPT'],
  originClass: 'bred',
  originClaimedBy: 'giver',
  marks: [{ kind: 'photo', value: 'plastron, left scute split' }],
  lastWeight: { grams: 18.5, on: '2026-08-30' },
  count: 1,
  countEstimated: false,
};

const textOf = (animal: PaperAnimal): Record<string, string> =>
  Object.fromEntries(paperLines(animal).map((line) => [line.label, line.text]));

describe('what a paper says of an animal', () => {
  it('says what is known, how surely, and what is not', () => {
    expect(textOf(hatchling)).toEqual({
      'Register number': 'HJ4-K7P-QR9',
      Species: "Testudo hermanni (Hermann's tortoise)",
      Sex: 'female, established by tail length, a guess',
      Hatched: 'about May 2026',
      Sire: 'unknown',
      Dam: 'WX3-47N-MPT',
      Origin: 'bred in captivity, as claimed by the keeper who gave the animal',
      Marks: 'photo plastron, left scute split',
      'Last weight': '18.5 g, 30 August 2026',
    });
  });

  it('given a lot, says how many, and that it was not counted where it was not', () => {
    expect(textOf({ ...hatchling, kind: 'lot', count: 12, countEstimated: true })['Number of animals']).toBe(
      'about 12, kept as a lot',
    );
  });

  it('says in a role who bred it, and nothing where it was not told', () => {
    const bredBy = (...breeders: [NonNullable<PaperAnimal['bredBy']>[number]['who'], 'yes' | 'possible'][]) =>
      textOf({ ...hatchling, bredBy: breeders.map(([who, sure]) => ({ who, sure })) })['Bred by'];
    const by = ', by the records of who owned the dam';
    expect(bredBy(['giver', 'yes'])).toBe(`the giver${by}`);
    expect(bredBy(['giver', 'yes'], ['somebody_else', 'yes'], ['somebody_else', 'yes'])).toBe(
      `the giver and somebody else${by}`,
    );
    expect(bredBy(['receiver', 'possible'], ['not_known', 'possible'])).toBe(
      `possibly the receiver or somebody not recorded${by}`,
    );
    expect(bredBy(['giver', 'yes'], ['somebody_else', 'possible'])).toBe(`the giver; possibly somebody else${by}`);
    expect(bredBy()).toBeUndefined();
  });

  it('given candidates, names all of them', () => {
    expect(textOf({ ...hatchling, sires: ['AAA', 'BBB'] })['Sire']).toBe('AAA or BBB');
  });
});

describe('changedSince', () => {
  it('given the same record, or another weight only, finds nothing', () => {
    const heavier: PaperAnimal = { ...hatchling, lastWeight: { grams: 90, on: '2027-05-01' } };
    expect(changedSince(hatchling, hatchling)).toEqual([]);
    expect(changedSince(hatchling, heavier)).toEqual([]);
  });

  it('names each field that reads otherwise now', () => {
    const now: PaperAnimal = { ...hatchling, sex: 'male', birthEdtf: '2026-06', sires: ['AAA'], originClass: 'wild' };
    expect(changedSince(hatchling, now)).toEqual(['sex', 'birth', 'parents', 'origin']);
    expect(changedSince(hatchling, { ...hatchling, scientificName: 'Testudo graeca' })).toEqual(['species']);
  });

  it('given a parent that was not shown on the paper, compares how many there are', () => {
    const paper = { ...hatchling, sires: ['recorded, not shown'] };
    expect(changedSince(paper, { ...hatchling, sires: ['AAA'] })).toEqual([]);
    expect(changedSince(paper, { ...hatchling, sires: [] })).toEqual(['parents']);
  });

  it('does not mind the order of candidates', () => {
    expect(changedSince({ ...hatchling, sires: ['A', 'B'] }, { ...hatchling, sires: ['B', 'A'] })).toEqual([]);
  });
});

describe('birthYear', () => {
  it.each([
    ['2026-05-01', '2026-05-31', '2026'],
    ['2025-11-01', '2026-02-28', '2025 to 2026'],
    ['2025-11-01', null, 'not before 2025'],
    [null, '2026-02-28', 'not after 2026'],
    [null, null, null],
  ])('%s to %s: %s', (earliest, latest, year) => {
    expect(birthYear(earliest === null ? null : day(earliest), latest === null ? null : day(latest))).toBe(year);
  });
});
