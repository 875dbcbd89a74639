import { describe, expect, it } from '@jest/globals';
import { type YoungSplit } from '../loans/loan-terms.core.js';
import { decidePick, type PickedYoung } from './pick.core.js';
import { type ClutchTally, splitClutches } from './split-state.core.js';

const TURNS: YoungSplit = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };
const tally = (changes: Partial<ClutchTally> = {}): ClutchTally => ({
  clutchId: 'c',
  number: 1,
  picked: { lender: 0, borrower: 0 },
  undivided: 4,
  lots: 0,
  eggsLeft: false,
  ...changes,
});
const young = (animalId: string, changes: Partial<PickedYoung> = {}): PickedYoung => ({
  animalId,
  kind: 'individual',
  alive: true,
  pickedBy: null,
  ofBoth: true,
  disputed: false,
  ...changes,
});
function clutchOf(changes: Partial<ClutchTally> = {}, terms = TURNS) {
  const [clutch] = splitClutches(terms, [tally(changes)]);
  if (clutch === undefined) throw new Error('No clutch.');
  return clutch;
}

describe('the clutches of a loan', () => {
  it('an odd one goes to the other side in the next, also while the first is being picked', () => {
    const [first, second] = splitClutches(TURNS, [tally({ undivided: 3 }), tally({ number: 2, undivided: 3 })]);
    expect([first?.split?.odd, second?.split?.odd]).toEqual(['lender', 'borrower']);
  });

  it('once all of one are picked, the next goes by what each side really has', () => {
    const done = tally({ undivided: 0, picked: { lender: 1, borrower: 2 } });
    expect(splitClutches(TURNS, [done, tally({ number: 2, undivided: 3 })])[1]?.split?.odd).toBe('lender');
  });

  it.each([
    ['eggs', { eggsLeft: true }],
    ['a lot', { lots: 1 }],
  ])('the odd one waits for %s, and the others do not', (_, more) => {
    expect(clutchOf({ undivided: 3, ...more })).toMatchObject({ oddOneWaits: true, turns: ['lender', 'borrower'] });
    expect(clutchOf({ undivided: 1, ...more })).toMatchObject({ oddOneWaits: true, turns: [] });
    expect(clutchOf({ undivided: 2, ...more })).toMatchObject({ oddOneWaits: false, turns: ['lender', 'borrower'] });
  });
});

describe('a pick', () => {
  it('counts on from the picks before it', () => {
    expect(decidePick(clutchOf(), ['lender'], [young('a')])).toMatchObject({
      value: { side: 'lender', picks: [{ animalId: 'a', number: 1 }] },
    });
    const later = clutchOf({ undivided: 1, picked: { lender: 2, borrower: 1 } });
    expect(decidePick(later, ['lender', 'borrower'], [young('a')])).toMatchObject({
      value: { side: 'borrower', picks: [{ number: 4 }] },
    });
  });

  it('takes as many as there are turns in a row', () => {
    const three = clutchOf({ undivided: 3 }, { ...TURNS, lenderParts: 2 });
    const all = [young('a'), young('b'), young('c')];
    expect(decidePick(three, ['lender'], all)).toMatchObject({
      value: { picks: [{ number: 1 }, { number: 2 }, { number: 3 }] },
    });
    expect(decidePick(clutchOf(), ['lender'], all)).toMatchObject({
      refusal: { rule: 'LOAN_PICK_TOO_MANY', fields: [{ path: 'input.animalIds', remedy: 'Name at most 1.' }] },
    });
  });

  it.each<[string, Partial<PickedYoung>, string]>([
    ['picked', { pickedBy: 'borrower' }, 'LOAN_YOUNG_PICKED'],
    ['somebody else’s by now', { ofBoth: false }, 'LOAN_YOUNG_NOT_OF_BOTH'],
    ['disputed', { disputed: true }, 'TRANSFER_OWNER_DISPUTED'],
    ['a lot', { kind: 'lot' }, 'LOAN_YOUNG_IS_LOT'],
    ['dead', { alive: false }, 'LOAN_YOUNG_GONE'],
  ])('refuses one that is %s, and names it', (_, changes, rule) => {
    expect(decidePick(clutchOf(), ['lender'], [young('a', changes)])).toMatchObject({
      refusal: { rule, blockers: [{ kind: 'animal', id: 'a' }] },
    });
  });

  it('refuses out of turn, before the odd one is known to be the last, and where nothing or nobody is to pick', () => {
    const refused = (clutch: ReturnType<typeof clutchOf>) => decidePick(clutch, ['borrower'], [young('a')]);
    expect(refused(clutchOf())).toMatchObject({ refusal: { rule: 'LOAN_PICK_NOT_YOURS' } });
    expect(refused(clutchOf({ undivided: 1, eggsLeft: true }))).toMatchObject({
      refusal: { rule: 'LOAN_ODD_ONE_WAITS' },
    });
    expect(refused(clutchOf({ undivided: 0 }))).toMatchObject({ refusal: { rule: 'LOAN_PICK_NOT_YOURS' } });
    const shared: YoungSplit = { method: 'shared', lenderParts: 1, ofParts: 2, firstPick: null, oddOne: null };
    expect(refused(clutchOf({}, shared))).toMatchObject({ refusal: { rule: 'LOAN_YOUNG_SHARED' } });
  });
});
