import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, exactDay, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { ACQUISITION_MANNERS, type FactBody, ORIGIN_CLASSES, SEXES } from '../core/fact.core.js';
import { requestOriginRecheck } from '../jobs/origin-recheck.job.js';
import { requireAuthority } from '../store/animal-authority.store.js';
import { getForWrite, lockAnimals, recordFact } from '../store/animal-write.store.js';

/** Kinds of facts that are recorded one at a time; birth comes with the registration, a fate with its own use case. */
const KINDS = ['weight', 'sex', 'seen', 'note', 'name', 'origin', 'acquisition'] as const;

export type RecordFactCommand = {
  readonly animalId: string;
  readonly fact: Extract<FactBody, { kind: (typeof KINDS)[number] }>;
  /** Today when left out. */
  readonly when: UncertainDay | null;
  readonly reason: string | undefined;
};

const factRecorded = defineLedgerAction(
  'animal.fact-recorded',
  1,
  z.strictObject({
    animalId: z.uuid(),
    factId: z.uuid(),
    keeperId: z.uuid(),
    kind: z.enum(KINDS),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    grams: z.number().optional(),
    sex: z.enum(SEXES).optional(),
    originClass: z.enum(ORIGIN_CLASSES).optional(),
    manner: z.enum(ACQUISITION_MANNERS).optional(),
    country: z.string().optional(),
  }),
);

/** Facts that somebody may only have stated, and on which the finding of origin rests. */
function isStatement(fact: FactBody): fact is Extract<FactBody, { kind: 'origin' | 'acquisition' }> {
  return fact.kind === 'origin' || fact.kind === 'acquisition';
}

const outcome = z.object({ factId: z.uuid() });

/** Records one fact about an animal that a keeper of the viewer has or owns. */
@Injectable()
export class RecordFact {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives the fact's id. NOT_FOUND, FORBIDDEN, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. */
  async execute(viewer: Viewer, command: RecordFactCommand): Promise<{ factId: string }> {
    return this.uow.write(viewer, { action: 'animal.record-fact', input: command, outcome }, async (tx) => {
      await lockAnimals(tx, [command.animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, command.animalId);
      const animal = await getForWrite(tx, command.animalId);
      const when = command.when ?? exactDay(tx.today);
      const possible = decideFactDay(when, animal.birth, tx.today);
      if (!possible.ok) return possible;
      const { fact } = command;
      const factId = await recordFact(tx, animal.id, keeperId, {
        fact,
        when,
        ...(command.reason === undefined ? {} : { reason: command.reason }),
      });
      const personal = {
        ...(fact.kind === 'note' ? { text: fact.body.text } : {}),
        ...(isStatement(fact) && fact.body.statedBy !== undefined ? { statedBy: fact.body.statedBy } : {}),
        ...(fact.kind === 'name' ? { name: fact.body.name } : {}),
        ...(command.reason === undefined ? {} : { reason: command.reason }),
      };
      await tx.ledger.append(factRecorded, {
        subjects: [animal.id],
        body: {
          animalId: animal.id,
          factId,
          keeperId,
          kind: fact.kind,
          earliest: when.earliest,
          latest: when.latest,
          ...(fact.kind === 'weight' ? { grams: fact.body.grams } : {}),
          ...(fact.kind === 'sex' ? { sex: fact.body.sex } : {}),
          ...(fact.kind === 'origin' ? { originClass: fact.body.originClass } : {}),
          ...(fact.kind === 'acquisition' ? { manner: fact.body.manner, country: fact.body.country } : {}),
        },
        personal,
      });
      if (isStatement(fact)) await requestOriginRecheck(tx, [animal.id]);
      return decide({ factId });
    });
  }
}
