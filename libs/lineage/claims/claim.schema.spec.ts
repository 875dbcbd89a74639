import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { recordParentCommand } from './claim.schema.js';

const id = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;
const input = (more: object) => ({ animalId: id(1), role: 'sire', ...more });
const candidates = (...probabilities: number[]) => ({
  candidates: probabilities.map((probability, i) => ({ parentId: id(i + 2), probability })),
});
const problems = (more: object): string[] => {
  const read = recordParentCommand.safeParse(input(more));
  return read.success ? [] : read.error.issues.map((issue) => `${issue.path.join('.')}: ${issue.message}`);
};

describe('recordParentCommand', () => {
  it.each([
    [candidates(0.6, 0.3), 'candidates: The probabilities sum to 0.9. | Change them so that they sum to 1.'],
    [candidates(1), 'candidates: There is one candidate. | Name a single parent as `parentId`, or add the others.'],
    [
      candidates(1, 0),
      'candidates.1.probability: A candidate has a probability above 0. | Leave out who cannot be it.',
    ],
    [
      candidates(...Array.from({ length: 21 }, () => 1 / 21)),
      'candidates: More than 20 candidates. | Leave the parent unknown.',
    ],
    [
      { candidates: [0.5, 0.5].map((probability) => ({ parentId: id(2), probability })) },
      'candidates.1.parentId: This animal is named twice. | Add its probabilities up.',
    ],
    [
      { parentId: id(2), ...candidates(0.5, 0.5) },
      'candidates: Give `parentId`, `candidates` or `withoutSire`, one of the three. | Leave the others out.',
    ],
    [
      { role: 'dam', withoutSire: true },
      'withoutSire: Only the place of the sire can be empty by nature. | Record this for the role sire.',
    ],
  ])('%j is refused with the field and the remedy', (more, problem) => {
    expect(problems(more)).toContain(problem);
  });

  it('keeps any probabilities that sum to 1 as eight decimal places that sum to 1', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 1000 }), { minLength: 2, maxLength: 20 }), (weights) => {
        const sum = weights.reduce((total, each) => total + each, 0);
        const command = recordParentCommand.parse(input(candidates(...weights.map((each) => each / sum))));
        const steps = command.candidates.map(({ probability }) => Math.round(probability * 1e8));
        expect(steps.reduce((total, each) => total + each, 0)).toBe(1e8);
        for (const [i, { probability }] of command.candidates.entries()) {
          expect(probability).toBe(Number(probability.toFixed(8)));
          expect(Math.abs(probability - (weights[i] ?? 0) / sum)).toBeLessThan(2.5e-7);
        }
      }),
    );
  });

  it('three equal shares are read, though no decimal fraction says a third', () => {
    expect(
      recordParentCommand.parse(input(candidates(1 / 3, 1 / 3, 1 / 3))).candidates.map((c) => c.probability),
    ).toEqual([0.33333334, 0.33333333, 0.33333333]);
  });
});
