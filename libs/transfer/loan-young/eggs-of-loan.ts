import { likelySires } from '../../breeding/index.js';
import { decide, type Decision, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { loanOfClutch } from './split-loan.core.js';
import { findLoanOfClutch, findYoungOfClutch, readClutchOrigin, readDividedLoan } from './split.store.js';

/**
 * Nobody owns an egg apart from its young, so with a third keeper the young would be that keeper's alone: eggs of a loan whose terms
 * divide the young go from one side of it to the other and nowhere else. A third keeper is told nothing of a loan.
 */
export async function loanEggsProblem(
  tx: Tx,
  viewer: Viewer,
  { giverId, receiverId }: { readonly giverId: string; readonly receiverId: string | null },
  eggs: readonly { readonly clutchId: string }[],
): Promise<Decision<null>> {
  const undivided: string[] = [];
  for (const clutchId of new Set(eggs.map((egg) => egg.clutchId))) {
    const transferId = await findLoan(tx, viewer, clutchId);
    const loan = transferId === null ? null : await readDividedLoan(tx.db, transferId);
    if (loan === null || (giverId !== loan.lender && giverId !== loan.borrower)) continue;
    if (receiverId !== loan.lender && receiverId !== loan.borrower) undivided.push(clutchId);
  }
  if (undivided.length === 0) return decide(null);
  const remedy = 'Offer them to the other side of the loan, or let them hatch: the young are divided then.';
  return refuse('TRANSFER_YOUNG_UNDIVIDED', `They are eggs of a loan whose terms divide the young. ${remedy}`, {
    blockers: undivided.map((id) => ({ kind: 'clutch', id, remedy })),
  });
}

/** By the sires on record of what has hatched of it, else by those the registry would name for its young. */
async function findLoan(tx: Tx, viewer: Viewer, clutchId: string): Promise<string | null> {
  const divided = await findLoanOfClutch(tx, clutchId);
  if (divided !== null) return divided;
  const origin = await readClutchOrigin(tx, clutchId, await findYoungOfClutch(tx, clutchId));
  if (origin === null) return null;
  const byRecord = loanOfClutch(origin);
  if (byRecord !== null || origin.parents.sire.length > 0) return byRecord;
  const likely = await readClutchOrigin(tx, clutchId, [], await likelySires(tx, viewer, clutchId));
  return likely === null ? null : loanOfClutch(likely);
}
