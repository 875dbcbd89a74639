import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type LoanSide } from '../loans/loan-terms.core.js';
import { type ClutchSplit, picksInARow } from './split-state.core.js';

/** One of the young a side wants, read under lock. */
export type PickedYoung = {
  readonly animalId: string;
  readonly kind: 'individual' | 'lot';
  readonly alive: boolean;
  readonly pickedBy: LoanSide | null;
  /** Whether both sides of the loan, and nobody else, own it. */
  readonly ofBoth: boolean;
  readonly disputed: boolean;
};

/** Who picked which, and as the pick of which number. */
export type Picks = { readonly side: LoanSide; readonly picks: readonly { animalId: string; number: number }[] };

/** Whether a side can pick these of the young of a clutch now; several at once where the next turns are all its own. */
export function decidePick(
  clutch: Pick<ClutchSplit, 'clutchId' | 'split' | 'turns' | 'oddOneWaits' | 'picked'>,
  sides: readonly LoanSide[],
  young: readonly PickedYoung[],
): Decision<Picks> {
  if (clutch.split === null) {
    return refuse('LOAN_YOUNG_SHARED', 'By the terms of this loan both own each of the young, and nobody picks.');
  }
  const problem = young.map(youngProblem).find((found) => found !== null);
  if (problem !== undefined) return problem;
  const blockers = [{ kind: 'clutch', id: clutch.clutchId, remedy: 'Read the young of the loan again.' }];
  const [side] = clutch.turns;
  if (side === undefined) {
    const message = clutch.oddOneWaits
      ? 'Only the one that is over is left, and more young may come of this clutch. Record what became of its eggs, or raise what is in a lot.'
      : 'Nothing of this clutch is left to pick.';
    return refuse(clutch.oddOneWaits ? 'LOAN_ODD_ONE_WAITS' : 'LOAN_PICK_NOT_YOURS', message, { blockers });
  }
  if (!sides.includes(side)) {
    return refuse('LOAN_PICK_NOT_YOURS', `It is the ${side}’s turn to pick. Wait until it has.`, { blockers });
  }
  const row = picksInARow(clutch.turns, side);
  if (young.length > row) {
    const message = `You have ${row} ${row === 1 ? 'pick' : 'picks'} in a row here. Name so many, and the rest when it is your turn again.`;
    return refuse('LOAN_PICK_TOO_MANY', message, {
      fields: [{ path: 'input.animalIds', message, remedy: `Name at most ${row}.` }],
    });
  }
  const before = clutch.picked.lender + clutch.picked.borrower;
  return decide({ side, picks: young.map(({ animalId }, i) => ({ animalId, number: before + i + 1 })) });
}

function youngProblem(young: PickedYoung): Decision<never> | null {
  const no = (rule: Uppercase<string>, message: string, remedy: string): Decision<never> =>
    refuse(rule, `${message} ${remedy}`, { blockers: [{ kind: 'animal', id: young.animalId, remedy }] });
  if (young.pickedBy !== null) return no('LOAN_YOUNG_PICKED', 'It is picked already.', 'Choose another one.');
  if (!young.ofBoth) {
    return no(
      'LOAN_YOUNG_NOT_OF_BOTH',
      'It is no longer the property of the two sides of the loan.',
      'Choose another one.',
    );
  }
  if (young.disputed)
    return no('TRANSFER_OWNER_DISPUTED', 'Whose property it is, is disputed.', 'Settle the ownership first.');
  if (young.kind === 'lot')
    return no('LOAN_YOUNG_IS_LOT', 'A lot is not picked.', 'Raise individuals out of it, and pick of those.');
  if (!young.alive) return no('LOAN_YOUNG_GONE', 'It is not alive and with a keeper.', 'Choose another one.');
  return null;
}
