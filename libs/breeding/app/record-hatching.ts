import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requestOriginRecheck, requireAuthority } from '../../animal/index.js';
import { actsFor, decide, notFound, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideHatching, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { findClutch, insertHatching } from '../store/breeding-write.store.js';

export type RecordHatchingCommand = {
  readonly clutchId: string;
  readonly animalId: string;
  readonly when: UncertainDay | null;
  readonly controlled: KnownAnswer;
};

const hatchingRecorded = defineLedgerAction(
  'breeding.hatching-recorded',
  1,
  z.strictObject({
    hatchingId: z.uuid(),
    clutchId: z.uuid(),
    animalId: z.uuid(),
    damId: z.uuid(),
    keeperId: z.uuid(),
    controlled: z.enum(KNOWN_ANSWERS),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

/** Records from which clutch an animal or lot came that a keeper of the viewer has or owns. */
@Injectable()
export class RecordHatching {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a clutch that no keeper of the viewer recorded; FORBIDDEN, BREEDING_*, HATCHED_BEFORE_LAID, HATCHING_RECORDED, DAY_IN_FUTURE. */
  async execute(viewer: Viewer, command: RecordHatchingCommand): Promise<{ hatchingId: string }> {
    const request = { action: 'breeding.record-hatching', input: command, outcome: z.object({ hatchingId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { clutchId, animalId, when, controlled } = command;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      const clutch = await findClutch(tx, clutchId);
      if (clutch === null || !actsFor(viewer, clutch.keeperId)) throw notFound('clutch');
      const [young, dam] = [await getForWrite(tx, animalId), await getForWrite(tx, clutch.damId)];
      const possible = decideHatching({ young, when, dam, laid: clutch.laid }, tx.today);
      if (!possible.ok) return possible;
      const hatchingId = await insertHatching(tx, { clutchId, animalId, controlled, when });
      await tx.ledger.append(hatchingRecorded, {
        subjects: [animalId, dam.id],
        body: {
          hatchingId,
          clutchId,
          animalId,
          damId: dam.id,
          keeperId,
          controlled,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
        },
      });
      await requestOriginRecheck(tx, [animalId]);
      return decide({ hatchingId });
    });
  }
}
