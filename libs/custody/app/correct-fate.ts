import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type Certainty,
  CERTAINTIES,
  decideFactDay,
  type FactBodyOf,
  fateBefore,
  FATES,
  type FateVersion,
  findOwner,
  getForWrite,
  insertInPlaceOf,
  lockAnimals,
  readVersions,
  requireAuthority,
  requestOriginRecheck,
  reviewMarkConflicts,
} from '../../animal/index.js';
import { decide, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { bookDay, type GoneFate, isGone } from '../core/whereabouts.core.js';
import { tellTheft } from '../jobs/tell-theft.job.js';
import { correctFateDay } from '../store/fate-custody.store.js';
import { closeTheft } from '../store/theft-report.store.js';

export type CorrectFateCommand = {
  readonly animalId: string;
  readonly reason: string;
  /** It was not so after all, or what is put right; what is left out (undefined) stays as it was. */
  readonly takeBack: boolean;
  readonly when?: UncertainDay | undefined;
  readonly cause?: string | null | undefined;
  readonly certainty?: Certainty | null | undefined;
};

const fateCorrected = defineLedgerAction(
  'animal.fate-corrected',
  1,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    from: z.enum(FATES),
    to: z.enum(FATES),
    takenBack: z.boolean(),
    /** The day from which the stock book follows; null where the day was not touched or the fate was taken back. */
    on: z.iso.date().nullable(),
    /** Whether custody followed. */
    movesCustody: z.boolean(),
    certainty: z.enum(CERTAINTIES).nullable(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

/** Corrects day, cause or certainty of a death or of how an animal or a whole lot was lost, or takes it back: the record is as it was before. */
@Injectable()
export class CorrectFate {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND; FORBIDDEN unless the viewer's keeper had it last (of a theft: owns a share); THEFT_BY_OWNER_ONLY, FATE_NOT_GONE,
   * NOT_AN_INDIVIDUAL, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, CUSTODY_DAY_TOO_EARLY.
   */
  async execute(viewer: Viewer, command: CorrectFateCommand): Promise<{ animalId: string }> {
    const request = { action: 'animal.correct-fate', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, reason, takeBack } = command;
      await lockAnimals(tx, [animalId]);
      const ownerId = await findOwner(tx, viewer, animalId);
      const animal = await getReadable(tx, viewer, animalId, ownerId !== null);
      if (animal.fate === 'stolen' && ownerId === null)
        return refuse('THEFT_BY_OWNER_ONLY', 'An owner has reported it stolen: only an owner can correct that.');
      const facts = await readVersions(tx, animalId);
      const fate = facts.findLast((each): each is FateVersion => each.kind === 'fate' && each.supersededAt === null);
      const gone = fate?.body.fate;
      if (fate === undefined || gone === undefined || !(gone === 'dead' || isGone(gone)))
        return refuse('FATE_NOT_GONE', 'The animal is not recorded as dead or gone: there is nothing to correct.');
      if (gone === 'dead' && animal.kind === 'lot')
        return refuse('NOT_AN_INDIVIDUAL', 'This record is a lot: count it anew with `recountLot` instead.');
      if (command.when !== undefined) {
        const possible = decideFactDay(command.when, animal.birth, tx.today);
        if (!possible.ok) return possible;
      }
      const on = takeBack || command.when === undefined ? null : bookDay(command.when, tx.today);
      const moved = takeBack || on !== null ? await correctFateDay(tx, { animalId, fate: gone }, on) : decide(false);
      if (!moved.ok) return moved;
      const keeperId = gone === 'stolen' && ownerId !== null ? ownerId : animal.keeperId;
      const before = takeBack ? fateBefore(facts, fate) : null;
      const now = takeBack
        ? { body: before?.body ?? { fate: 'alive' as const }, when: before?.when ?? null }
        : { body: revised(gone, fate, command), when: command.when ?? fate.when };
      const input = {
        fact: { kind: 'fate' as const, body: now.body },
        when: now.when,
        reason,
        ...(before === null ? {} : { restoresId: before.id }),
      };
      await insertInPlaceOf(tx, animalId, keeperId, input, [fate.id]);
      if (takeBack && gone === 'stolen') await closeReport(tx, animalId);
      if (takeBack && gone === 'dead') await tx.db.animal.update({ where: { id: animalId }, data: { count: 1 } });
      await tx.ledger.append(fateCorrected, {
        subjects: [animalId],
        body: {
          animalId,
          keeperId,
          from: gone,
          to: now.body.fate,
          takenBack: takeBack,
          on,
          movesCustody: moved.value,
          certainty: now.body.certainty ?? null,
          earliest: now.when?.earliest ?? null,
          latest: now.when?.latest ?? null,
        },
        personal: { reason, ...(now.body.cause === undefined ? {} : { cause: now.body.cause }) },
      });
      await requestOriginRecheck(tx, [animalId]);
      await reviewMarkConflicts(tx, [animalId], 'fate_changed');
      return decide({ animalId });
    });
  }
}

/** The record with the keeper who writes: who had the animal last, or an owner of what was stolen. */
async function getReadable(tx: Tx, viewer: Viewer, animalId: string, isOwner: boolean) {
  const stolen = isOwner && (await tx.db.animal.count({ where: { id: animalId, fate: 'stolen' } })) > 0;
  const { keeperId } = await requireAuthority(tx, viewer, animalId, !stolen);
  return { ...(await getForWrite(tx, animalId)), keeperId };
}

function revised(gone: GoneFate | 'dead', { body }: FateVersion, said: CorrectFateCommand): FactBodyOf<'fate'> {
  const cause = said.cause === undefined ? body.cause : (said.cause ?? undefined);
  const certainty = said.certainty === undefined ? body.certainty : (said.certainty ?? undefined);
  return {
    fate: gone,
    ...(cause === undefined ? {} : { cause }),
    ...(certainty === undefined ? {} : { certainty }),
  };
}

async function closeReport(tx: Tx, animalId: string): Promise<void> {
  const reportId = await closeTheft(tx, animalId);
  if (reportId !== null) await tx.outbox.send(tellTheft, { reportId, what: 'closed' });
}
