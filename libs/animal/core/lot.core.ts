import { type Day, type DaySpan, type Decision, decide, refuse } from '../../kernel/index.js';
import type { When } from './fact.core.js';

/** Every way in which the count of a lot changes. `opening` and `split_in` begin it. */
export const LOT_CAUSES = [
  'opening',
  'split_out',
  'split_in',
  'joined_in',
  'joined_out',
  'raised_out',
  'died',
  'missing',
  'stolen',
  'escaped',
  'found',
  'corrected',
] as const;
export type LotCause = (typeof LOT_CAUSES)[number];

/** How some of a lot are lost. */
export const LOT_LOSSES = ['died', 'missing', 'stolen', 'escaped'] as const satisfies readonly LotCause[];
export type LotLoss = (typeof LOT_LOSSES)[number];

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

/** May `count` be lost in another way than by death? Of all of them the fate of the lot itself is recorded. */
export function decideGone(lot: LotFacts, count: number): Decision<{ left: number }> {
  const possible = lotOfAtLeast(lot, count);
  if (!possible.ok) return possible;
  if (count === lot.count)
    return refuse('LOT_LOSS_TAKES_ALL', 'All of the lot are gone: record that of the lot itself, with `recordFate`.');
  return decide({ left: lot.count - count });
}

/** May `count` of those that were lost be back? `away` is how many are recorded as missing, stolen or escaped and not found. */
export function decideFound(lot: LotFacts, count: number, away: number): Decision<{ left: number }> {
  if (lot.kind !== 'lot') return refuse('NOT_A_LOT', 'This record is one animal, not a lot.');
  if (!Number.isInteger(count) || count < 1)
    return refuse('LOT_COUNT_INVALID', 'The number found again is at least 1.');
  if (count > away)
    return refuse(
      'LOT_FOUND_TOO_MANY',
      `${away} of the lot are recorded as gone; ${count} cannot be found again. Count the lot anew instead.`,
    );
  return decide({ left: lot.count + count });
}

/** A lot counted anew: by how much the record was off. */
export function decideRecount(
  lot: LotFacts & { readonly countEstimated: boolean },
  counted: number,
  estimated: boolean,
): Decision<{ delta: number }> {
  if (lot.kind !== 'lot') return refuse('NOT_A_LOT', 'This record is one animal, not a lot.');
  if (!Number.isInteger(counted) || counted < 1)
    return refuse('LOT_COUNT_INVALID', 'A count is at least 1. If none is left, record how they were lost.');
  if (counted === lot.count && estimated === lot.countEstimated)
    return refuse('LOT_COUNT_SAME', `The record says ${lot.count} already.`);
  return decide({ delta: counted - lot.count });
}

/** What decides whether two lots can become one. */
export type JoinFacts = LotFacts & {
  readonly id: string;
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly fate: string;
};

/** May all of `from` go into `into`? Holder and owners are the caller's to compare. */
export function decideJoin(from: JoinFacts, into: JoinFacts): Decision<null> {
  if (from.id === into.id) return refuse('LOT_JOIN_SELF', 'A lot is not joined with itself.');
  for (const lot of [from, into]) {
    if (lot.kind !== 'lot') return refuse('NOT_A_LOT', 'Only lots are joined; this record is one animal.');
    if (lot.fate !== 'alive' || lot.count === 0) {
      const blockers = [{ kind: 'animal', id: lot.id, remedy: 'Leave it out.' }];
      return refuse('ANIMAL_NOT_ALIVE', 'One of the lots has nobody in it, or is not there.', { blockers });
    }
  }
  if (from.taxonId !== into.taxonId) return refuse('LOT_JOIN_OTHER_TAXON', 'The lots are of different taxa.');
  if (from.lineId !== into.lineId)
    return refuse('LOT_JOIN_OTHER_LINE', 'The lots are of different lines, which are not mixed unawares.');
  return decide(null);
}

/** The birth of what two lots become: the same day where both say so, else the span of both; null where one says nothing. */
export function joinedBirth(a: When | null, b: When | null): When | null {
  if (a === null || b === null) return null;
  if (a.edtf === b.edtf) return a;
  const earliest = outermost(a, b, 'earliest');
  const latest = outermost(a, b, 'latest');
  if (earliest === null && latest === null) return null;
  return { edtf: `${earliest ?? '..'}/${latest ?? '..'}`, earliest, latest };
}

function outermost(a: DaySpan, b: DaySpan, end: 'earliest' | 'latest'): Day | null {
  const [one, other] = [a[end], b[end]];
  if (one === null || other === null) return null;
  return (end === 'earliest') === one < other ? one : other;
}
