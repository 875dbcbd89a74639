import { z } from 'zod';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { RESTART_SCOPES } from '../core/quarantine.core.js';

const entered = { groupId: z.uuid(), keeperId: z.uuid(), animalIds: z.array(z.uuid()), enteredOn: z.iso.date() };

/** A group was opened by its keeper. */
export const quarantineOpened = defineLedgerAction(
  'health.quarantine-opened',
  1,
  z.strictObject({ ...entered, days: z.int().positive(), restartScope: z.enum(RESTART_SCOPES) }),
);

/** Animals joined a group. */
export const quarantineJoined = defineLedgerAction('health.quarantine-joined', 1, z.strictObject(entered));

/** A group was let out; `early` = before its days were over. */
export const quarantineReleased = defineLedgerAction(
  'health.quarantine-released',
  1,
  z.strictObject({
    groupId: z.uuid(),
    keeperId: z.uuid(),
    animalIds: z.array(z.uuid()),
    on: z.iso.date(),
    early: z.boolean(),
  }),
);
