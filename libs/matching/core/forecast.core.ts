import { type FieldProblem } from '../../kernel/index.js';

/** Most offspring a forecast looks at. */
export const MAX_OFFSPRING = 20;
/** From this kinship on a pair is called closely related: that of first cousins. Common practice, no published source. */
export const CLOSE = 0.0625;

/** What a forecast asks of one of the pair. */
export type PairAnimal = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly originClass: string;
};

export type PairWarning = { readonly code: string; readonly message: string };

/** What makes a forecast impossible, each with its remedy; none = possible. */
export function pairProblems(dam: PairAnimal, sire: PairAnimal, offspring: number): FieldProblem[] {
  const problems: FieldProblem[] = [];
  if (!Number.isInteger(offspring) || offspring < 1 || offspring > MAX_OFFSPRING)
    problems.push({
      path: 'offspring',
      message: `A forecast is for 1 to ${MAX_OFFSPRING} offspring.`,
      remedy: 'Ask for fewer, or leave it out for one.',
    });
  for (const [path, animal] of [
    ['damId', dam],
    ['sireId', sire],
  ] as const)
    if (animal.kind === 'lot')
      problems.push({
        path,
        message: 'A lot has no single parentage.',
        remedy: 'Raise an animal out of the lot and ask for that one.',
      });
  if (dam.taxonId !== sire.taxonId)
    problems.push({
      path: 'sireId',
      message: 'The two animals are of different taxa.',
      remedy: 'Name two animals of one taxon.',
    });
  return problems;
}

/** What should be looked at before the two are put together. `words` says how they are related. */
export function pairWarnings(dam: PairAnimal, sire: PairAnimal, kinship: number, words: string): PairWarning[] {
  const warnings: PairWarning[] = [];
  if (dam.id === sire.id)
    warnings.push({
      code: 'PAIR_SAME_ANIMAL',
      message: 'Dam and sire are one animal. The numbers are those of selfing, not of development without a sire.',
    });
  else {
    if (dam.sex === 'male')
      warnings.push({ code: 'PAIR_DAM_IS_MALE', message: 'The animal named as dam is recorded as a male.' });
    if (sire.sex === 'female')
      warnings.push({ code: 'PAIR_SIRE_IS_FEMALE', message: 'The animal named as sire is recorded as a female.' });
    if (kinship >= CLOSE - 1e-12)
      warnings.push({ code: 'PAIR_CLOSELY_RELATED', message: `The two are closely related: ${words}.` });
  }
  if (dam.lineId !== sire.lineId)
    warnings.push({
      code: 'PAIR_LINES_DIFFER',
      message:
        'The two are of different lines, or one is of none. Lines are kept apart for a reason: ask before you cross them.',
    });
  return warnings;
}

/** What is not recorded of the two themselves, in words. */
export function unknownOrigins(dam: PairAnimal, sire: PairAnimal): string[] {
  return [
    ...(dam.originClass === 'unknown' ? ['the origin of the dam is not known'] : []),
    ...(sire.originClass === 'unknown' && sire.id !== dam.id ? ['the origin of the sire is not known'] : []),
    ...(dam.sex === 'unknown' ? ['the sex of the dam is not known'] : []),
    ...(sire.sex === 'unknown' && sire.id !== dam.id ? ['the sex of the sire is not known'] : []),
  ];
}
