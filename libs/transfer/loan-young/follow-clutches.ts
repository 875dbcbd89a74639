import { followClutches, type CorrectedClutch } from '../../breeding/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { loanOfClutch } from './split-loan.core.js';
import { findLoanOfClutch, findUnpicked, findYoungOfClutch, lockDividedLoan, readClutchOrigin } from './split.store.js';

/** Most young that a refusal names. */
const MAX_NAMED = 20;

/**
 * While young of a clutch wait to be picked, no correction takes the clutch out of its loan: whoever keeps it could else undo by its
 * word alone what the other side owns. Whatever its parents and days are said to be once nobody picks any more moves no property.
 */
async function corrected(tx: Tx, { clutchId, keeperId }: CorrectedClutch): Promise<Decision<null>> {
  const transferId = await findLoanOfClutch(tx, clutchId);
  const loan = transferId === null ? null : await lockDividedLoan(tx, transferId);
  // To a third keeper nothing is told of a loan.
  if (loan === null || (keeperId !== loan.lender && keeperId !== loan.borrower)) return decide(null);
  const unpicked = await findUnpicked(tx, clutchId);
  if (unpicked.length === 0) return decide(null);
  const origin = await readClutchOrigin(tx, clutchId, await findYoungOfClutch(tx, clutchId));
  if (origin !== null && loanOfClutch(origin) === loan.transferId) return decide(null);
  const remedy = 'Pick first, or agree on whose each is with `claimOwnership`.';
  const message = 'By this correction the clutch would not be of the loan by whose terms its young are divided.';
  return refuse('CLUTCH_LOAN_YOUNG', `${message} ${remedy}`, {
    blockers: unpicked.slice(0, MAX_NAMED).map((id) => ({ kind: 'animal', id, remedy })),
  });
}

followClutches(corrected);
