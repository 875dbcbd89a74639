import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { type BreedingAnimal } from './breeding.core.js';
import { decidePairing, movePairing, PAIRING_STATES, PAIRING_TRANSITIONS } from './pairing.core.js';

const TODAY = day('2026-06-10');
const animal = (id: string, sex: 'male' | 'female'): BreedingAnimal => ({
  id,
  kind: 'individual',
  taxonId: 'taxon',
  sex,
  birth: { earliest: null, latest: null },
});
const plan = { dam: animal('dam', 'female'), sire: animal('sire', 'male'), from: day('2026-09-01'), until: null };
const rule = (answer: ReturnType<typeof decidePairing>) => (answer.ok ? null : answer.refusal.rule);

describe('a planned pairing', () => {
  it('may lie in the future', () => expect(rule(decidePairing(plan, TODAY))).toBeNull());

  it.each([
    ['with itself', { sire: { ...plan.sire, id: 'dam' } }, 'BREEDING_SAME_ANIMAL'],
    ['of two males', { dam: animal('other', 'male') }, 'BREEDING_SEX_CONFLICT'],
    ['that ends before it begins', { until: day('2026-08-31') }, 'PAIRING_DAYS_REVERSED'],
  ] as const)('is refused %s', (_, more, expected) =>
    expect(rule(decidePairing({ ...plan, ...more }, TODAY))).toBe(expected),
  );

  it('moves on as its table says and no other way', () => {
    for (const from of PAIRING_STATES)
      for (const to of PAIRING_STATES) expect(movePairing(from, to).ok).toBe(PAIRING_TRANSITIONS[from].includes(to));
    expect(movePairing('planned', 'under_way').ok).toBe(true);
    expect(movePairing('ended', 'planned').ok).toBe(false);
  });
});
