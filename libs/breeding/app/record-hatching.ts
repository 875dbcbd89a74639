import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  getForWrite,
  lockAnimals,
  requestOriginRecheck,
  requireAuthority,
  type StockRecord,
} from '../../animal/index.js';
import { actsFor, decide, notFound, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import { decideHatching, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { incubationWarnings } from '../core/plausibility.core.js';
import { insertHatchings } from '../store/breeding-write.store.js';
import { findClutch, lockClutch, readBounds } from '../store/clutch.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { openEggs } from './open-eggs.js';

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

const outcome = z.object({ hatchingId: z.uuid(), warnings: breedingWarnings });

/** Records from which clutch a registered animal or lot came that a keeper of the viewer has or owns. */
@Injectable()
export class RecordHatching {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a clutch that no keeper of the viewer recorded; FORBIDDEN, BREEDING_*, HATCHED_BEFORE_LAID, HATCHING_RECORDED, EGG_*, DAY_IN_FUTURE. */
  async execute(
    viewer: Viewer,
    command: RecordHatchingCommand,
  ): Promise<{ hatchingId: string; warnings: BreedingWarning[] }> {
    const request = { action: 'breeding.record-hatching', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, when, controlled } = command;
      const eggNumber = command.eggNumber ?? null;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      const seen = await findClutch(tx.db, command.clutchId);
      if (seen === null || !actsFor(viewer, seen.keeperId)) throw notFound('clutch');
      const clutch = await lockClutch(tx, seen.originalId);
      if (clutch === null) throw notFound('clutch');
      const young = await getForWrite(tx, animalId);
      const dams: StockRecord[] = [];
      for (const dam of clutch.dams) dams.push(await getForWrite(tx, dam.id));
      const possible = decideHatching({ young, when, dams, laid: clutch.laid }, tx.today);
      if (!possible.ok) return possible;
      const opened = await openEggs(tx, clutch, eggNumber === null ? [] : [eggNumber], when);
      if (!opened.ok) return opened;
      const eggId = eggNumber === null ? null : (opened.value.ids.get(eggNumber) ?? null);
      const [hatchingId = ''] = await insertHatchings(tx, [
        { clutchId: clutch.originalId, animalId, eggId, controlled, when },
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
      const bounds = await readBounds(tx.db, young.taxonId);
      const span = { earliest: when?.earliest ?? null, latest: when?.latest ?? null };
      const laid = { earliest: clutch.laid?.earliest ?? null, latest: clutch.laid?.latest ?? clutch.foundOn };
      return decide({
        hatchingId,
        warnings: [...opened.value.warnings, ...incubationWarnings(laid, span, bounds)],
      });
    });
  }
}
