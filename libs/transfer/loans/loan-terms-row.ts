import { type Prisma } from '../../platform/prisma/index.js';
import { type OfferedTransfer } from '../core/transfer.core.js';

/** The row of an offer's terms of a loan, to go with its other rows; none where nothing was agreed. */
export function loanTermsRows({
  id: transferId,
  loanTerms,
}: Pick<OfferedTransfer, 'id' | 'loanTerms'>): Prisma.LoanTermsCreateManyInput[] {
  if (loanTerms === null) return [];
  const { value, youngSplit, ...plain } = loanTerms;
  return [
    {
      transferId,
      ...plain,
      valueMinor: value === null ? null : BigInt(value.minor),
      valueCurrency: value?.currency ?? null,
      lenderParts: youngSplit?.lenderParts ?? null,
      ofParts: youngSplit?.ofParts ?? null,
      splitMethod: youngSplit?.method ?? null,
      firstPick: youngSplit?.firstPick ?? null,
      oddOne: youngSplit?.oddOne ?? null,
    },
  ];
}
