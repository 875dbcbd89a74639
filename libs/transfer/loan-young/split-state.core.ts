import { type LoanSide, type YoungSplit } from '../loans/loan-terms.core.js';
import { decideSplit, type Split, type Tally, turnsLeft } from './split.core.js';

/** The young of one clutch of a loan, counted. */
export type ClutchTally = {
  readonly clutchId: string;
  /** From 1, in the order in which the clutches of the loan had young. */
  readonly number: number;
  readonly picked: Tally;
  /** Alive, no lot, both sides' property: what can be picked. */
  readonly undivided: number;
  /** A lot that both own, of which individuals may still be raised. */
  readonly lots: number;
  /** Eggs that by the record may still hatch. */
  readonly eggsLeft: boolean;
};

/** How the young of a clutch are divided. */
export type ClutchSplit = ClutchTally & {
  /** Null where they are not divided by turns. */
  readonly split: Split | null;
  /** Whose turn each pick is, in order; empty while nobody can pick. */
  readonly turns: readonly LoanSide[];
  /** The one that is over is not picked before it is known to be the last. */
  readonly oddOneWaits: boolean;
};

/** How the clutches of a loan, in their order, are divided, seen from those that are alive or picked. */
export function splitClutches(terms: YoungSplit, clutches: readonly ClutchTally[]): ClutchSplit[] {
  const earlier: Tally[] = [];
  return clutches.map((clutch) => {
    if (terms.method === 'shared') return { ...clutch, split: null, turns: [], oddOneWaits: false };
    const { picked, undivided } = clutch;
    const split = decideSplit(terms, picked.lender + picked.borrower + undivided, earlier);
    const turns = turnsLeft(terms, split, picked);
    earlier.push(undivided === 0 ? picked : split);
    const oddOneWaits = split.odd !== null && turns.length > 0 && (clutch.eggsLeft || clutch.lots > 0);
    return { ...clutch, split, turns: oddOneWaits ? turns.slice(0, -1) : turns, oddOneWaits };
  });
}

/** How many picks in a row the side has now. */
export function picksInARow(turns: readonly LoanSide[], side: LoanSide): number {
  const others = turns.findIndex((turn) => turn !== side);
  return others === -1 ? turns.length : others;
}
