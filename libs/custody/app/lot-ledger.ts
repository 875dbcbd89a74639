import { z } from 'zod';
import { FATES, LOT_LOSSES } from '../../animal/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';

const about = { lotId: z.uuid(), keeperId: z.uuid(), on: z.string() };

export const lotsJoined = defineLedgerAction(
  'lot.joined',
  1,
  z.strictObject({
    ...about,
    fromLotId: z.uuid(),
    count: z.int(),
    unknown: z.array(z.enum(['birth', 'origin', 'sire', 'dam'])),
  }),
);

export const lotLost = defineLedgerAction(
  'lot.lost-some',
  1,
  z.strictObject({ ...about, count: z.int(), cause: z.enum(LOT_LOSSES) }),
);

export const lotFound = defineLedgerAction('lot.found-some', 1, z.strictObject({ ...about, count: z.int() }));

export const lotRecounted = defineLedgerAction(
  'lot.recounted',
  1,
  z.strictObject({ ...about, delta: z.int(), count: z.int(), estimated: z.boolean() }),
);

export const raisedFromLot = defineLedgerAction(
  'lot.raised-out',
  1,
  z.strictObject({ ...about, animalIds: z.array(z.uuid()), left: z.int() }),
);

/** What a change of the count says, before and after it was put right. */
const said = z.strictObject({ cause: z.enum([...LOT_LOSSES, 'found']), count: z.int(), on: z.iso.date() });

export const lotChangeCorrected = defineLedgerAction(
  'lot.change-corrected',
  1,
  z.strictObject({
    lotId: z.uuid(),
    keeperId: z.uuid(),
    changeId: z.uuid(),
    from: said,
    /** Null: it was taken back. */
    to: said.nullable(),
    /** What the lot counts now. */
    left: z.int(),
    /** By how much what a later recount left unexplained changed. */
    unaccounted: z.int(),
    fate: z.enum(FATES),
    /** Of a lot that has died out: the day. */
    endedOn: z.iso.date().nullable(),
  }),
);
