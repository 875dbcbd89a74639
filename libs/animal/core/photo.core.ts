import { addDays, type Day } from '../../kernel/index.js';

/** What one person says of two sessions. */
export const PHOTO_VERDICTS = ['same', 'different', 'unsure'] as const;
export type PhotoVerdict = (typeof PHOTO_VERDICTS)[number];

/** One dated set of pictures. */
export type PhotoSession = { readonly id: string; readonly takenOn: Day };

/** One person's verdict in force on a session, held against an earlier one. */
export type PhotoComparison = {
  readonly sessionId: string;
  readonly earlierSessionId: string;
  readonly verdict: PhotoVerdict;
  readonly confirmedBy: string;
};

/** How many different people have to find the animal the same. */
export const CONFIRMATIONS = 2;

/**
 * Where a photo documentation stands. `no_pictures` yet; `first_pictures` have nothing to be held against; then the latest
 * session is `unconfirmed`, `confirmed` by two people or more, or `contradicted` by somebody who sees another animal.
 */
export type PhotoStanding = 'no_pictures' | 'first_pictures' | 'unconfirmed' | 'confirmed' | 'contradicted';

export type PhotoState = {
  readonly standing: PhotoStanding;
  /** Different people who find the latest session to show the animal of an earlier one. */
  readonly confirmedBy: number;
  readonly lastTakenOn: Day | null;
  /** The day on which new pictures are due; null before the first. */
  readonly nextDueOn: Day | null;
  readonly overdue: boolean;
};

/** The state on a day. The latest session is the one taken last; comparisons of older ones stay in the history. */
export function photoState(
  intervalDays: number,
  sessions: readonly PhotoSession[],
  comparisons: readonly PhotoComparison[],
  today: Day,
): PhotoState {
  const latest = sessions.reduce<PhotoSession | null>(
    (last, session) => (last === null || session.takenOn > last.takenOn ? session : last),
    null,
  );
  if (latest === null)
    return { standing: 'no_pictures', confirmedBy: 0, lastTakenOn: null, nextDueOn: null, overdue: false };
  const said = comparisons.filter((each) => each.sessionId === latest.id);
  const people = (verdict: PhotoVerdict): Set<string> =>
    new Set(said.filter((each) => each.verdict === verdict).map((each) => each.confirmedBy));
  const confirmedBy = people('same').size;
  const nextDueOn = addDays(latest.takenOn, intervalDays);
  return {
    standing:
      people('different').size > 0
        ? 'contradicted'
        : confirmedBy >= CONFIRMATIONS
          ? 'confirmed'
          : sessions.length === 1
            ? 'first_pictures'
            : 'unconfirmed',
    confirmedBy,
    lastTakenOn: latest.takenOn,
    nextDueOn,
    overdue: today > nextDueOn,
  };
}
