import { describe, expect, it } from '@jest/globals';
import { endOf, groupEnd, groupState, type Quarantine } from '../../libs/health/index.js';
import { day } from '../../libs/kernel/index.js';

/**
 * Outside check O18. Source: Association of Zoos and Aquariums, quarantine guidance: at least 30 days; adding an animal of
 * the same order re-initiates the 30 days. Counted from the latest entry into the group, the day of entry being day 0.
 */
const ORDER = { orderName: 'Squamata', className: 'Reptilia', leftOn: null };

const unit = (...entered: [animalId: string, enteredOn: string][]): Quarantine => ({
  days: 30,
  restartScope: 'order',
  released: null,
  entries: entered.map(([animalId, enteredOn]) => ({ ...ORDER, animalId, enteredOn: day(enteredOn) })),
});

const LONG_AFTER = day('2026-12-31');

describe('the clock of a quarantine against outside values (O18)', () => {
  it('A enters on 2026-01-01, B of the same order joins on 2026-01-20: both end on 2026-02-19', () => {
    const together = unit(['A', '2026-01-01'], ['B', '2026-01-20']);
    expect(together.entries.map((entry) => endOf(together, entry, LONG_AFTER))).toEqual(['2026-02-19', '2026-02-19']);
    expect(groupEnd(together, LONG_AFTER)).toBe('2026-02-19');
    expect(groupState(together, day('2026-02-18'))).toEqual({ kind: 'in_quarantine', until: '2026-02-19' });
    expect(groupState(together, day('2026-02-19'))).toEqual({ kind: 'ended', on: '2026-02-19' });
  });

  it('C joins another unit on 2026-01-25: it ends on 2026-02-24, and the first unit is not touched', () => {
    expect(groupEnd(unit(['C', '2026-01-25']), LONG_AFTER)).toBe('2026-02-24');
  });

  it('the day of entry is day 0: alone, A would end on 2026-01-31', () => {
    expect(groupEnd(unit(['A', '2026-01-01']), LONG_AFTER)).toBe('2026-01-31');
  });
});
