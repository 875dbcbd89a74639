import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, exactDay, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import {
  ACQUISITION_MANNERS,
  type FactBody,
  ORIGIN_CLASSES,
  SEXES,
  TRAIT_BASES,
  TRAIT_STATES,
} from '../core/fact.core.js';
import { requestOriginRecheck } from '../jobs/origin-recheck.job.js';
import { requireAuthority } from '../store/animal-authority.store.js';
import { getForWrite, lockAnimals, recordFact } from '../store/animal-write.store.js';
import { findSexConflicts } from '../store/sex-dependents.store.js';

/** Kinds of facts that are recorded one at a time; birth comes with the registration, a fate with its own use case. */
const KINDS = ['weight', 'sex', 'seen', 'note', 'name', 'origin', 'acquisition', 'trait', 'hybrid'] as const;

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
    gene: z.string().optional(),
    state: z.enum(TRAIT_STATES).optional(),
    basis: z.enum(TRAIT_BASES).optional(),
    isHybrid: z.boolean().optional(),
  }),
);

/** Facts on which the finding of origin rests, of this animal or of what descends from it. */
function bearsOnOrigin(fact: FactBody): boolean {
  return fact.kind === 'origin' || fact.kind === 'acquisition' || fact.kind === 'sex';
}

/** Facts that may be somebody else's word. */
function isStatement(
  fact: FactBody,
): fact is Extract<FactBody, { kind: 'origin' | 'acquisition' | 'trait' | 'hybrid' }> {
  return ['origin', 'acquisition', 'trait', 'hybrid'].includes(fact.kind);
}

const outcome = z.object({
  factId: z.uuid(),
  recheck: z.array(z.object({ kind: z.enum(['offspring', 'mating', 'clutch']), id: z.uuid() })).default([]),
});

/** Records one fact about an animal that a keeper of the viewer has or owns. */
@Injectable()
export class RecordFact {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives the fact's id, and what a changed sex contradicts. NOT_FOUND, FORBIDDEN, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. */
  async execute(viewer: Viewer, command: RecordFactCommand): Promise<z.infer<typeof outcome>> {
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
          ...(fact.kind === 'trait' ? { gene: fact.body.gene, state: fact.body.state, basis: fact.body.basis } : {}),
          ...(fact.kind === 'hybrid' ? { isHybrid: fact.body.of.length > 0 } : {}),
          ...(fact.kind === 'acquisition' ? { manner: fact.body.manner, country: fact.body.country } : {}),
        },
        personal,
      });
      if (bearsOnOrigin(fact)) await requestOriginRecheck(tx, [animal.id]);
      const recheck = fact.kind === 'sex' ? await findSexConflicts(tx, viewer, animal.id, fact.body.sex) : [];
      return decide({ factId, recheck });
    });
  }
}
