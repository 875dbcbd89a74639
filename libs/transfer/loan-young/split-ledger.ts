import { z } from 'zod';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { LOAN_SIDES, SPLIT_METHODS } from '../loans/loan-terms.core.js';

/** Young of a clutch came under the terms of a loan: from the day each record begins they are the property of these owners. */
export const youngOfLoan = defineLedgerAction(
  'transfer.young-of-loan',
  1,
  z.strictObject({
    transferId: z.uuid(),
    clutchId: z.uuid(),
    /** Which clutch of the loan it is. */
    number: z.int().positive(),
    method: z.enum(SPLIT_METHODS),
    owners: z.array(z.strictObject({ ownerId: z.uuid(), parts: z.int().positive() })),
    young: z.array(z.strictObject({ animalId: z.uuid(), from: z.iso.date() })),
  }),
);

export const youngPicked = defineLedgerAction(
  'transfer.young-picked',
  1,
  z.strictObject({
    transferId: z.uuid(),
    clutchId: z.uuid(),
    side: z.enum(LOAN_SIDES),
    keeperId: z.uuid(),
    on: z.iso.date(),
    picks: z.array(z.strictObject({ animalId: z.uuid(), number: z.int().positive() })),
  }),
);
