import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { LOT_LOSSES, type LotCause, type LotLoss } from './lot.core.js';

/** What a change says of a lot's count. */
export type LotChangeSaid = { readonly cause: LotCause; readonly delta: number; readonly on: Day };

/** A change of a lot's count with what became of it. */
export type LotChangeVersion = LotChangeSaid & {
  readonly id: string;
  /** The other record of a split, a join or a raising. */
  readonly counterpartId: string | null;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
  /** The version that took its place; null with `supersededAt` set: it was taken back. */
  readonly supersededBy: string | null;
};

/** It was not so after all, or what is put right; what is left out (undefined) stays as it was. */
export type LotCorrection = {
  readonly takeBack: boolean;
  readonly count?: number | undefined;
  readonly on?: Day | undefined;
  readonly cause?: LotLoss | undefined;
};

/** What a correction comes to. */
export type LotCorrected = {
  /** Which versions step back, and what each says now; null = nothing. The corrected one comes first. */
  readonly revisions: readonly { readonly id: string; readonly instead: LotChangeSaid | null }[];
  readonly left: number;
  /** The last day on which the count changed. */
  readonly lastOn: Day;
};

type Blocker = { readonly kind: string; readonly id: string; readonly remedy: string };

/** Most records named in one refusal. */
const NAMED = 20;

const LOSSES: readonly LotCause[] = LOT_LOSSES;
const AWAY: readonly LotCause[] = ['missing', 'stolen', 'escaped', 'found'];

/**
 * Can a loss or a find be corrected or taken back, and what follows? What came later must still be possible. A later recount
 * takes up the difference: so many were there then, whatever had been recorded before; what is unexplained changes instead.
 * `changes` are all versions of the lot's changes.
 */
export function decideLotCorrection(
  changes: readonly LotChangeVersion[],
  change: LotChangeVersion,
  correction: LotCorrection,
): Decision<LotCorrected> {
  const possible = mayBeCorrected(changes, change, correction);
  if (!possible.ok) return possible;
  const said = correction.takeBack ? null : revised(change, correction);
  const later = replay(inOrder(changes), change, said);
  if (!later.ok) return later;
  const { revisions } = later.value;
  const now = new Map(revisions.map(({ id, instead }) => [id, instead]));
  const before = changes.filter(isInForce);
  const after = before.flatMap((each) => {
    const instead = now.get(each.id);
    return instead === undefined ? [each] : instead === null ? [] : [instead];
  });
  const short = dayShort(before, after);
  if (short !== null)
    return refuse('LOT_TOO_SMALL', `By its other changes the lot counted fewer on ${short}. Check day and number.`);
  const lastOn = after.map(({ on }) => on).reduce((last, on) => (on > last ? on : last));
  return decide({ revisions, left: total(after), lastOn });
}

/** The version of a change that was recorded first: its place among the others is told by that. */
export function firstVersion(changes: readonly LotChangeVersion[], change: LotChangeVersion): LotChangeVersion {
  const before = changes.find((each) => each.supersededBy === change.id);
  return before === undefined ? change : firstVersion(changes, before);
}

function mayBeCorrected(
  changes: readonly LotChangeVersion[],
  change: LotChangeVersion,
  { takeBack, count, on, cause }: LotCorrection,
): Decision<null> {
  if (!isInForce(change)) {
    const current = currentVersion(changes, change);
    return refuse('LOT_CHANGE_NOT_IN_FORCE', 'This change of the count was corrected or taken back already.', {
      blockers:
        current === null
          ? []
          : [{ kind: 'lot_change', id: current.id, remedy: 'Correct this one, which took its place.' }],
    });
  }
  if (!LOSSES.includes(change.cause) && change.cause !== 'found')
    return refuse(
      'LOT_CHANGE_NOT_CORRECTABLE',
      change.cause === 'corrected'
        ? 'A lot that was miscounted is counted anew, with `recountLot`.'
        : 'Only what a lot lost and found again is corrected: other records hang on this change. Count the lot anew instead.',
    );
  if (change.cause === 'found' && cause !== undefined)
    return refuse('LOT_CHANGE_NOT_CORRECTABLE', 'What was found again has no cause. Leave it out.');
  if (count !== undefined && (!Number.isInteger(count) || count < 1))
    return refuse('LOT_COUNT_INVALID', 'The number is at least 1. If there were none, take the change back.');
  const same = revised(change, { takeBack, count, on, cause });
  if (!takeBack && same.cause === change.cause && same.delta === change.delta && same.on === change.on)
    return refuse('LOT_CHANGE_SAME', 'The record says this already.');
  return decide(null);
}

function revised(change: LotChangeVersion, { count, on, cause }: LotCorrection): LotChangeSaid {
  const delta = count === undefined ? change.delta : change.delta < 0 ? -count : count;
  return { cause: cause ?? change.cause, delta, on: on ?? change.on };
}

/**
 * Goes through the changes in force in the order in which they were first recorded, as each was possible then. Gives what is
 * superseded, or refuses where a later change could not have been.
 */
function replay(
  ordered: readonly LotChangeVersion[],
  change: LotChangeVersion,
  said: LotChangeSaid | null,
): Decision<Pick<LotCorrected, 'revisions'>> {
  const revisions: { id: string; instead: LotChangeSaid | null }[] = [{ id: change.id, instead: said }];
  const blockers: Blocker[] = [];
  let [recorded, shift, away, isEmptied] = [0, 0, 0, false];
  for (const [i, each] of ordered.entries()) {
    const isIt = each.id === change.id;
    const now = isIt ? said : each;
    const tookAll = recorded > 0 && recorded + each.delta === 0;
    recorded += each.delta;
    if (now !== null && AWAY.includes(now.cause)) away -= now.delta;
    if (isIt) {
      shift = (said?.delta ?? 0) - each.delta;
      const left = recorded + shift;
      if (left < 0)
        return refuse('LOT_TOO_SMALL', `The lot counted ${left - (said?.delta ?? 0)} then. Check the number.`);
      if (left === 0 && said?.cause !== 'died')
        return refuse(
          'LOT_LOSS_TAKES_ALL',
          'All of the lot would be gone: record that of the lot itself, with `recordFate`.',
        );
      if (away < 0)
        return refuse('LOT_FOUND_TOO_MANY', `So many were not gone. Check the number, or count the lot anew.`);
      isEmptied = left === 0 && shift !== 0;
      continue;
    }
    if (away < 0 && each.cause === 'found') blockers.push(blockerOf(each));
    if (shift === 0) continue;
    if (isEmptied) blockers.push(blockerOf(each));
    else if (each.cause === 'corrected') {
      revisions.push({ id: each.id, instead: { cause: each.cause, delta: each.delta - shift, on: each.on } });
      shift = 0;
    } else {
      const left = recorded + shift;
      // What took all there were rests on how many that was; what leaves none, but a death at the very end, ended the lot.
      const ends = left === 0 && !(each.cause === 'died' && i === ordered.length - 1);
      if (tookAll || left < 0 || ends) blockers.push(blockerOf(each));
    }
  }
  if (blockers.length === 0) return decide({ revisions });
  return refuse('LOT_CHANGE_COUNTED_ON', 'Later changes of the lot would not have been possible.', {
    blockers: blockers.slice(0, NAMED),
  });
}

function blockerOf({ id, cause, counterpartId }: LotChangeVersion): Blocker {
  if (counterpartId !== null)
    return {
      kind: 'animal',
      id: counterpartId,
      remedy: 'This record was made of the count as it was. Count the lot anew instead.',
    };
  const remedy =
    cause === 'corrected'
      ? 'It was counted since. Count it anew instead.'
      : 'Take this back first, and record it again afterwards.';
  return { kind: 'lot_change', id, remedy };
}

const isInForce = ({ supersededAt }: LotChangeVersion): boolean => supersededAt === null;

/** The version in force that a superseded one led to; null where it was taken back. */
function currentVersion(changes: readonly LotChangeVersion[], change: LotChangeVersion): LotChangeVersion | null {
  const next = changes.find(({ id }) => id === change.supersededBy);
  if (next === undefined) return null;
  return isInForce(next) ? next : currentVersion(changes, next);
}

/** The changes in force, in the order in which each was first recorded. */
function inOrder(changes: readonly LotChangeVersion[]): LotChangeVersion[] {
  return changes
    .filter(isInForce)
    .map((change) => ({ change, first: firstVersion(changes, change) }))
    .toSorted(
      (a, b) => a.first.recordedAt.getTime() - b.first.recordedAt.getTime() || (a.first.id < b.first.id ? -1 : 1),
    )
    .map(({ change }) => change);
}

/** The first day at whose end fewer than none would be there, and fewer than without the correction. */
function dayShort(before: readonly LotChangeSaid[], after: readonly LotChangeSaid[]): Day | null {
  const upTo = (changes: readonly LotChangeSaid[], day: Day): number => total(changes.filter(({ on }) => on <= day));
  const days = [...new Set([...before, ...after].map(({ on }) => on))].toSorted();
  return days.find((day) => upTo(after, day) < Math.min(0, upTo(before, day))) ?? null;
}

function total(changes: readonly LotChangeSaid[]): number {
  return changes.reduce((sum, { delta }) => sum + delta, 0);
}
