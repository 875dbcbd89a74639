import { z } from 'zod';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { MARK_END_CAUSES, MARK_KINDS } from '../core/mark.core.js';
import { PHOTO_VERDICTS } from '../core/photo.core.js';

const day = z.string().nullable();
const about = { animalId: z.uuid(), markId: z.uuid(), keeperId: z.uuid() };

/** Ledger entries about marks. What stands on a mark is personal text: a ring can lead to a person. */
export const markRecorded = defineLedgerAction(
  'animal.mark-recorded',
  1,
  z.strictObject({ ...about, kind: z.enum(MARK_KINDS), earliest: day, latest: day }),
);

export const markEnded = defineLedgerAction(
  'animal.mark-ended',
  1,
  z.strictObject({ ...about, cause: z.enum(MARK_END_CAUSES), earliest: day, latest: day }),
);

export const markCorrected = defineLedgerAction(
  'animal.mark-corrected',
  1,
  z.strictObject({ ...about, takenBack: z.boolean(), kind: z.enum(MARK_KINDS), earliest: day, latest: day }),
);

export const photoSessionRecorded = defineLedgerAction(
  'animal.photo-session-recorded',
  1,
  z.strictObject({ ...about, sessionId: z.uuid(), takenOn: z.string(), fileIds: z.array(z.uuid()) }),
);

export const photoSessionTakenBack = defineLedgerAction(
  'animal.photo-session-taken-back',
  1,
  z.strictObject({ ...about, sessionId: z.uuid() }),
);

export const photoComparisonConfirmed = defineLedgerAction(
  'animal.photo-comparison-confirmed',
  1,
  z.strictObject({
    ...about,
    sessionId: z.uuid(),
    earlierSessionId: z.uuid(),
    verdict: z.enum(PHOTO_VERDICTS),
  }),
);
