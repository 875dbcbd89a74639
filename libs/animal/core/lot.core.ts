import { type Decision, decide, refuse } from '../../kernel/index.js';

/** What a decision about a lot needs to know of it, read after the lock. */
export type LotFacts = { readonly kind: 'individual' | 'lot'; readonly count: number };

function lotOfAtLeast(lot: LotFacts, count: number): Decision<null> {
  if (lot.kind !== 'lot') return refuse('NOT_A_LOT', 'This record is one animal, not a lot.');
  if (!Number.isInteger(count) || count < 1)
    return refuse('LOT_COUNT_INVALID', 'The number taken out of a lot is at least 1.');
  if (count > lot.count)
    return refuse('LOT_TOO_SMALL', `The lot counts ${lot.count}; ${count} cannot be taken out of it.`);
  return decide(null);
}

/** May `count` be split off? Something has to stay behind: whoever moves all of them moves the lot itself. */
export function decideSplit(lot: LotFacts, count: number): Decision<{ left: number }> {
  const possible = lotOfAtLeast(lot, count);
  if (!possible.ok) return possible;
  if (count === lot.count)
    return refuse(
      'LOT_SPLIT_TAKES_ALL',
      'A split leaves at least one animal behind. To move all of them, move the lot itself.',
    );
  return decide({ left: lot.count - count });
}

/** May `count` be lost? All of them may. */
export function decideLoss(lot: LotFacts, count: number): Decision<{ left: number }> {
  const possible = lotOfAtLeast(lot, count);
  return possible.ok ? decide({ left: lot.count - count }) : possible;
}
