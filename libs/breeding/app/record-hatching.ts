import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  getForWrite,
  getNamed,
  lockAnimals,
  requestOriginRecheck,
  requireAuthority,
  type StockRecord,
} from '../../animal/index.js';
import { decide, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideHatching, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { incubationWarnings } from '../core/plausibility.core.js';
import { insertHatchings } from '../store/breeding-write.store.js';
import { readBounds } from '../store/clutch.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { meantEggs, takeClutch } from './meant-eggs.js';
import { openEggs } from './open-eggs.js';
import { unnumberedYoung } from './unnumbered-young.js';
import { tellYoung } from './young-followers.js';

export type RecordHatchingCommand = {
  readonly clutchId: string;
  readonly animalId: string;
  /** The egg it came out of; null or left out = not known. */
  readonly eggNumber?: number | null;
  readonly when: UncertainDay | null;
  readonly controlled: KnownAnswer;
};

const hatchingRecorded = defineLedgerAction(
  'breeding.hatching-recorded',
  2,
  z.strictObject({
    hatchingId: z.uuid(),
    clutchId: z.uuid(),
    animalId: z.uuid(),
    eggNumber: z.int().nullable(),
    keeperId: z.uuid(),
    controlled: z.enum(KNOWN_ANSWERS),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

const outcome = z.object({
  hatchingId: z.uuid(),
  originalId: z.uuid(),
  clutchKeeperId: z.uuid(),
  keeperId: z.uuid(),
  warnings: breedingWarnings,
});

/** Records from which clutch a registered animal or lot came that a keeper of the viewer has or owns. */
@Injectable()
export class RecordHatching {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a clutch that no keeper of the viewer recorded or has eggs of; EGGS_*, HATCHLING_EGG_NOT_SAID, FORBIDDEN, BREEDING_*, HATCHED_BEFORE_LAID, HATCHING_RECORDED, EGG_*, DAY_IN_FUTURE. */
  async execute(viewer: Viewer, command: RecordHatchingCommand): Promise<z.infer<typeof outcome>> {
    const request = { action: 'breeding.record-hatching', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, when, controlled } = command;
      const eggNumber = command.eggNumber ?? null;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      const taken = await takeClutch(tx, viewer, command.clutchId);
      const { clutch } = taken;
      const young = await getForWrite(tx, animalId);
      const numbers = eggNumber === null ? null : [eggNumber];
      const meant = meantEggs(viewer, taken, { numbers, ending: true });
      if (!meant.ok) return meant;
      const said = await unnumberedYoung(tx, taken, meant.value.keeperId, [{ eggNumber, count: young.count }]);
      if (!said.ok) return said;
      const hatchedWith = meant.value.keeperId;
      const dams: StockRecord[] = [];
      for (const dam of clutch.dams) dams.push(await getNamed(tx, dam.id));
      const possible = decideHatching({ young, when, dams, laid: clutch.laid }, tx.today);
      if (!possible.ok) return possible;
      const opened = await openEggs(tx, clutch, numbers ?? [], when, hatchedWith);
      if (!opened.ok) return opened;
      const eggId = eggNumber === null ? null : (opened.value.ids.get(eggNumber) ?? null);
      const [hatchingId = ''] = await insertHatchings(tx, [
        {
          clutchId: clutch.originalId,
          ...{ animalId, eggId, controlled, when },
          keeperId: hatchedWith === clutch.keeperId ? null : hatchedWith,
        },
      ]);
      await tx.ledger.append(hatchingRecorded, {
        subjects: [animalId, clutch.originalId, ...clutch.dams.map((dam) => dam.id)],
        body: {
          hatchingId,
          clutchId: clutch.originalId,
          animalId,
          eggNumber,
          keeperId,
          controlled,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
        },
      });
      await requestOriginRecheck(tx, [animalId]);
      const followed = await tellYoung(tx, {
        ...{ clutchId: clutch.originalId, keeperId, eggsWith: hatchedWith },
        animalIds: [animalId],
      });
      if (!followed.ok) return followed;
      const bounds = await readBounds(tx.db, young.taxonId);
      const span = { earliest: when?.earliest ?? null, latest: when?.latest ?? null };
      const laid = { earliest: clutch.laid?.earliest ?? null, latest: clutch.laid?.latest ?? clutch.foundOn };
      return decide({
        hatchingId,
        originalId: clutch.originalId,
        clutchKeeperId: clutch.keeperId,
        keeperId: hatchedWith,
        warnings: [...opened.value.warnings, ...incubationWarnings(laid, span, bounds)],
      });
    });
  }
}
