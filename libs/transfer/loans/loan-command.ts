import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { forbidden, NO_ID, notFound, roleFor, ruleRefused, type Viewer } from '../../kernel/index.js';
import { mayTakePart, standingOfOne } from '../../membership/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { animalIdsOf } from '../app/transfer-ledger.js';
import { sidesOf } from '../core/policy.core.js';
import { type Side, type Transfer } from '../core/transfer.core.js';
import { type TransferStore } from '../store/transfer.store.js';
import { type Loan, type LoanDayChange } from './loan-day.core.js';
import { LOAN_SIDES, type LoanSide } from './loan-terms.core.js';
import { findDays, findOut, findTransferOfAsk } from './loan.store.js';

/** A loan and a new last day of it. */
export const loanDayCommand = z.object({
  transferId: idInput,
  expectedVersion: z.int().positive().nullish(),
  dueBack: dayInput,
});

/** An ask for another last day. */
export const askCommand = z.object({ extensionId: idInput });

export const SIDE_OF = { lender: 'giver', borrower: 'receiver' } as const satisfies Record<LoanSide, Side>;

const loanDay = z.strictObject({
  transferId: z.uuid(),
  extensionId: z.uuid(),
  by: z.enum(LOAN_SIDES),
  dueBack: z.iso.date(),
});

export const loanDayAsked = defineLedgerAction('transfer.loan-day-asked', 1, loanDay);
export const loanDayAnswered = defineLedgerAction(
  'transfer.loan-day-answered',
  1,
  loanDay.extend({ agreed: z.boolean() }),
);
export const loanDayWithdrawn = defineLedgerAction('transfer.loan-day-withdrawn', 1, loanDay);
/** `ended`: the ask that the recall put an end to. */
export const loanRecalled = defineLedgerAction(
  'transfer.loan-recalled',
  1,
  loanDay.extend({ dueBackBefore: z.iso.date(), ended: z.uuid().nullable() }),
);

/** What an entry about a day of a loan says; `by` is whose act it is. */
export function loanDayEntry(transfer: Transfer, { id, dueBack }: LoanDayChange, by: LoanSide) {
  return {
    subjects: [transfer.id, ...animalIdsOf(transfer)],
    body: { transferId: transfer.id, extensionId: id, by, dueBack },
  };
}

/**
 * A loan, locked with what is out of it: nothing of it comes home meanwhile. Throws NOT_FOUND for what the viewer may not see,
 * STALE_VERSION when the viewer read another version.
 */
export async function lockLoan(
  tx: Tx,
  viewer: Viewer,
  transfers: TransferStore,
  transferId: string,
  expectedVersion?: number | null,
): Promise<{ transfer: Transfer; loan: Loan }> {
  const transfer = await transfers.lock(tx, viewer, transferId, expectedVersion);
  const { id, kind, state, dueBack, loanTerms } = transfer;
  await lockAnimals(tx, [...animalIdsOf(transfer), ...((await findOut(tx.db, [id])).get(id) ?? [])]);
  // Read again: what was on its way home may have arrived while this waited for the animals.
  const out = (await findOut(tx.db, [id])).get(id)?.length ?? 0;
  const days = (await findDays(tx.db, [id])).get(id) ?? [];
  const recallDays = loanTerms?.recallDays ?? null;
  return { transfer, loan: { transferId: id, kind, state, dueBack, recallDays, out, days } };
}

/** The loan of an ask, and the ask. Throws NOT_FOUND, with one text, for what does not exist and what the viewer may not see. */
export async function lockAsk(
  tx: Tx,
  viewer: Viewer,
  transfers: TransferStore,
  extensionId: string,
): Promise<{ transfer: Transfer; loan: Loan; ask: LoanDayChange }> {
  const transferId = await findTransferOfAsk(tx, extensionId);
  const { transfer, loan } = await lockLoan(tx, viewer, transfers, transferId ?? NO_ID);
  const ask = loan.days.find(({ id }) => id === extensionId);
  if (ask === undefined) throw notFound('transfer');
  return { transfer, loan, ask };
}

/** The sides of a loan the viewer acts for, the lender first. */
export function loanSidesOf(viewer: Viewer, transfer: Transfer): LoanSide[] {
  const sides = sidesOf(viewer, transfer);
  return LOAN_SIDES.filter((side) => sides.includes(SIDE_OF[side]));
}

/**
 * Throws FORBIDDEN when the act is the other side's; RULE_REFUSED GUARDIAN_SPEAKS where the side's keeper is a minor's: nothing is
 * sent any more that a guardian could countersign, so the guardian acts. Ask it about the locked transfer.
 */
export async function requireLoanSide(tx: Tx, viewer: Viewer, side: LoanSide, transfer: Transfer): Promise<void> {
  const { fromKeeperId, receiver } = transfer;
  const keeperId = side === 'lender' ? fromKeeperId : receiver.kind === 'keeper' ? receiver.keeperId : null;
  if (keeperId === null || !loanSidesOf(viewer, transfer).includes(side))
    throw forbidden(`This is for the ${side} of the loan to do.`);
  const possible = mayTakePart('loan', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
  if (!possible.ok) throw ruleRefused(possible.refusal);
}
