import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, type Day, decide, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type Enclosure } from '../store/housing-read.store.js';
import { insertEnclosure } from '../store/housing-write.store.js';

export type RecordEnclosureCommand = {
  readonly keeperId: string;
  readonly name: string;
  readonly controlled: 'yes' | 'no' | 'unknown';
  readonly controlledSince: Day | null;
  /** `unknown` when left out. */
  readonly setting?: Enclosure['setting'];
  readonly room?: string | null;
};

const enclosureRecorded = defineLedgerAction(
  'housing.enclosure-recorded',
  2,
  z.strictObject({
    enclosureId: z.uuid(),
    keeperId: z.uuid(),
    setting: z.enum(['indoor', 'outdoor', 'unknown']),
    controlled: z.enum(['yes', 'no', 'unknown']),
    controlledSince: z.string().nullable(),
  }),
);

/** Records an enclosure of an own keeper. It is theirs alone to see. */
@Injectable()
export class RecordEnclosure {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a keeper the viewer does not act for; DAY_IN_FUTURE, CONTROLLED_SINCE_WITHOUT_YES. */
  async execute(viewer: Viewer, command: RecordEnclosureCommand): Promise<{ enclosureId: string }> {
    if (!actsFor(viewer, command.keeperId)) throw notFound('keeper');
    const request = {
      action: 'housing.record-enclosure',
      input: command,
      outcome: z.object({ enclosureId: z.uuid() }),
    };
    return this.uow.write(viewer, request, async (tx) => {
      const { keeperId, name, controlled, controlledSince, setting = 'unknown', room = null } = command;
      if (controlledSince !== null && controlledSince > tx.today)
        return refuse('DAY_IN_FUTURE', `${controlledSince} is still to come.`);
      if (controlledSince !== null && controlled !== 'yes')
        return refuse(
          'CONTROLLED_SINCE_WITHOUT_YES',
          'A day since which it is controlled goes with `controlled: yes`.',
        );
      const enclosureId = await insertEnclosure(tx, { keeperId, name, setting, room, controlled, controlledSince });
      await tx.ledger.append(enclosureRecorded, {
        subjects: [enclosureId, keeperId],
        body: { enclosureId, keeperId, setting, controlled, controlledSince },
        personal: { name, ...(room === null ? {} : { room }) },
      });
      return decide({ enclosureId });
    });
  }
}
