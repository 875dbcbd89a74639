import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { type ClutchOrigin, loanOfClutch, type ParentStay } from './split-loan.core.js';

const stay = (parentId: string, changes: Partial<ParentStay> = {}): ParentStay => ({
  role: 'dam',
  parentId,
  transferId: 'loan',
  borrowerId: 'borrower',
  from: day('2026-02-01'),
  to: null,
  lentThen: true,
  matedThere: false,
  ...changes,
});
const clutch = (changes: Partial<ClutchOrigin> = {}): ClutchOrigin => ({
  laid: day('2026-04-01'),
  keeperId: 'borrower',
  parents: { dam: ['d'], sire: [] },
  stays: [],
  ...changes,
});
const ofSire = (changes: Partial<ClutchOrigin>): ClutchOrigin =>
  clutch({ parents: { dam: ['d'], sire: ['s'] }, ...changes });

describe('the loan a clutch is of', () => {
  it.each<[string, ClutchOrigin, string | null]>([
    ['none where nobody was lent', clutch(), null],
    ['that of the dam while she is with the borrower', clutch({ stays: [stay('d')] }), 'loan'],
    ['laid on the day she came', clutch({ laid: day('2026-02-01'), stays: [stay('d')] }), 'loan'],
    ['not laid before she came', clutch({ laid: day('2026-01-31'), stays: [stay('d')] }), null],
    ['not on the day she went home', clutch({ stays: [stay('d', { to: day('2026-04-01') })] }), null],
    ['the day before it', clutch({ stays: [stay('d', { to: day('2026-04-02') })] }), 'loan'],
    [
      'later, after a mating there',
      clutch({ keeperId: 'lender', stays: [stay('d', { to: day('2026-03-01'), matedThere: true })] }),
      'loan',
    ],
    ['not of one who was sold meanwhile', clutch({ stays: [stay('d', { lentThen: false })] }), null],
    [
      'where she is comes before where she mated',
      clutch({
        stays: [
          stay('d', { transferId: 'first', to: day('2026-03-01'), matedThere: true }),
          stay('d', { transferId: 'second', from: day('2026-03-01') }),
        ],
      }),
      'second',
    ],
    [
      'all dams that can have laid it are of the loan',
      clutch({ parents: { dam: ['d', 'e'], sire: [] }, stays: [stay('d'), stay('e')] }),
      'loan',
    ],
    ['not where one of them is not', clutch({ parents: { dam: ['d', 'e'], sire: [] }, stays: [stay('d')] }), null],
    ['that of the sire', ofSire({ stays: [stay('s', { role: 'sire' })] }), 'loan'],
    ['also once he is home', ofSire({ stays: [stay('s', { role: 'sire', to: day('2026-03-01') })] }), 'loan'],
    ['not before he came', ofSire({ laid: day('2026-01-01'), stays: [stay('s', { role: 'sire' })] }), null],
    ['not of another keeper’s dam', ofSire({ keeperId: 'third', stays: [stay('s', { role: 'sire' })] }), null],
    [
      'the later of two loans of him',
      ofSire({
        stays: [
          stay('s', { role: 'sire', transferId: 'first', to: day('2026-03-01') }),
          stay('s', { role: 'sire', transferId: 'second', from: day('2026-03-10') }),
        ],
      }),
      'second',
    ],
    [
      'the dam’s before the sire’s',
      ofSire({ stays: [stay('d', { transferId: 'hers' }), stay('s', { role: 'sire', transferId: 'his' })] }),
      'hers',
    ],
  ])('%s', (_, origin, expected) => {
    expect(loanOfClutch(origin)).toBe(expected);
  });
});
