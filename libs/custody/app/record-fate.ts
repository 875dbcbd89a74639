import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type Certainty,
  CERTAINTIES,
  decideFactDay,
  decideFate,
  type FateChange,
  FATES,
  findOwner,
  getForWrite,
  lockAnimals,
  requireAuthority,
  reviewMarkConflicts,
} from '../../animal/index.js';
import { decide, type Decision, exactDay, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { tellTheft } from '../jobs/tell-theft.job.js';
import { bookDay } from '../core/whereabouts.core.js';
import { recordBack, recordGone } from '../store/fate-write.store.js';
import { currentCustody } from '../store/custody-write.store.js';
import { closeTheft, findRespondent, insertTheft } from '../store/theft-report.store.js';

export type RecordFateCommand = {
  readonly animalId: string;
  readonly change: FateChange;
  /** Today when null. */
  readonly when: UncertainDay | null;
  readonly cause: string | null;
  readonly certainty: Certainty | null;
  readonly foundBy: string | null;
  /** What an owner states of a theft. */
  readonly theft: {
    readonly policeInformed: boolean;
    readonly policeReference: string | null;
    readonly statement: string | null;
  } | null;
};

const fateRecorded = defineLedgerAction(
  'animal.fate-recorded',
  2,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    from: z.enum(FATES),
    to: z.enum(FATES),
    /** The day from which the stock book follows, and whether custody follows at all: not where another keeper has it. */
    on: z.iso.date(),
    movesCustody: z.boolean(),
    certainty: z.enum(CERTAINTIES).optional(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    theftReportId: z.uuid().nullable(),
    policeInformed: z.boolean().optional(),
  }),
);

/** Records that an animal or a whole lot is missing, stolen, escaped, seized, surrendered or gone from the registry, or found again. */
@Injectable()
export class RecordFate {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND; FORBIDDEN unless the viewer's keeper had it last (of a theft, and what follows on one: owns a share);
   * THEFT_BY_OWNER_ONLY, FATE_ALREADY, FATE_IMPOSSIBLE, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, CUSTODY_DAY_TOO_EARLY.
   */
  async execute(viewer: Viewer, command: RecordFateCommand): Promise<{ animalId: string }> {
    const request = { action: 'animal.record-fate', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, change } = command;
      await lockAnimals(tx, [animalId]);
      const ownerId = await findOwner(tx, viewer, animalId);
      // An owner who does not have it can say that it was stolen, and that it is back; the rest is known by who has it.
      const byOwner = ownerId !== null && (change === 'stolen' || change === 'found');
      const { keeperId: holderId } = await requireAuthority(tx, viewer, animalId, !byOwner && change !== 'stolen');
      const keeperId = change === 'stolen' && ownerId !== null ? ownerId : holderId;
      const animal = await getForWrite(tx, animalId);
      const possible = decideFate(animal.fate, change, ownerId !== null);
      if (!possible.ok) return possible;
      const when = command.when ?? exactDay(tx.today);
      const inTime = decideFactDay(when, animal.birth, tx.today);
      if (!inTime.ok) return inTime;
      const on = bookDay(when, tx.today);
      const said = {
        ...(command.cause === null ? {} : { cause: command.cause }),
        ...(command.certainty === null ? {} : { certainty: command.certainty }),
        ...(command.foundBy === null ? {} : { foundBy: command.foundBy }),
      };
      const respondentId = change === 'stolen' ? await findRespondent(tx, animalId, keeperId, on) : null;
      // Where another keeper has it by the record, a report of theft moves nothing, and neither does its end.
      const holder = (await currentCustody(tx, [animalId])).get(animalId)?.holder;
      const isWith = holder?.kind === 'keeper' ? holder.keeperId : null;
      const movesCustody =
        change === 'found' ? isWith === null : change !== 'stolen' || isWith === null || isWith !== respondentId;
      const done: Decision<null> =
        possible.value === 'alive' || possible.value === 'dead'
          ? await recordBack(tx, { animalId, keeperId, on, when, said })
          : await recordGone(tx, {
              animalId,
              keeperId,
              fate: possible.value,
              on,
              when,
              said,
              movesCustody,
            });
      if (!done.ok) return done;
      const theftReportId = await this.tellOfTheft(tx, command, keeperId, respondentId);
      await tx.ledger.append(fateRecorded, {
        subjects: [animalId],
        body: {
          animalId,
          keeperId,
          from: animal.fate,
          to: possible.value,
          on,
          movesCustody,
          ...(command.certainty === null ? {} : { certainty: command.certainty }),
          earliest: when.earliest,
          latest: when.latest,
          theftReportId,
          ...(command.theft === null ? {} : { policeInformed: command.theft.policeInformed }),
        },
        personal: personalOf(command),
      });
      await reviewMarkConflicts(tx, [animalId], 'fate_changed');
      return decide({ animalId });
    });
  }

  /** Opens the report a theft makes, or closes the one that is over by what is said now. */
  private async tellOfTheft(
    tx: Tx,
    { animalId, change, theft }: RecordFateCommand,
    keeperId: string,
    respondentId: string | null,
  ): Promise<string | null> {
    if (change === 'stolen') {
      const stated = theft ?? { policeInformed: false, policeReference: null, statement: null };
      const reportId = await insertTheft(tx, { animalId, keeperId, ...stated }, respondentId);
      if (respondentId !== null) await tx.outbox.send(tellTheft, { reportId, what: 'reported' });
      return reportId;
    }
    // What an authority took may have been that very animal; once it gives it back, or the owner does, the report is over.
    if (change === 'seized' || change === 'surrendered') return null;
    const reportId = await closeTheft(tx, animalId);
    if (reportId !== null) await tx.outbox.send(tellTheft, { reportId, what: 'closed' });
    return reportId;
  }
}

function personalOf({ cause, foundBy, theft }: RecordFateCommand): Record<string, string> {
  return {
    ...(cause === null ? {} : { cause }),
    ...(foundBy === null ? {} : { foundBy }),
    ...(theft?.policeReference ? { policeReference: theft.policeReference } : {}),
    ...(theft?.statement ? { statement: theft.statement } : {}),
  };
}
