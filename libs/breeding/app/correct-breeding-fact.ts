import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requestOriginRecheck } from '../../animal/index.js';
import { actsFor, decide, type Decision, notFound, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { decideClutch, decideHatching, decideMating, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import {
  BREEDING_FACTS,
  type BreedingFactKind,
  type FactToCorrect,
  findFact,
  supersede,
} from '../store/breeding-write.store.js';

export type CorrectBreedingFactCommand = {
  readonly kind: BreedingFactKind;
  readonly factId: string;
  readonly reason: string;
  /** It did not happen after all: nothing takes its place. */
  readonly takeBack: boolean;
  /** Undefined = as it was; null = the day is not known. */
  readonly when: UncertainDay | null | undefined;
  readonly controlled: KnownAnswer | undefined;
};

const factCorrected = defineLedgerAction(
  'breeding.fact-corrected',
  1,
  z.strictObject({
    kind: z.enum(BREEDING_FACTS),
    factId: z.uuid(),
    replacedBy: z.uuid().nullable(),
    controlled: z.enum(KNOWN_ANSWERS).optional(),
    earliest: z.string().nullable().optional(),
    latest: z.string().nullable().optional(),
  }),
);

const outcome = z.object({ factId: z.uuid().nullable(), animalId: z.uuid() });

/** Corrects a mating, clutch or hatching that a keeper of the viewer recorded, with a reason; the earlier version is kept. */
@Injectable()
export class CorrectBreedingFact {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives the id of the version in force (null when taken back) and the animal it is about. NOT_FOUND, and what recording refuses. */
  async execute(
    viewer: Viewer,
    command: CorrectBreedingFactCommand,
  ): Promise<{ factId: string | null; animalId: string }> {
    const request = { action: 'breeding.correct-fact', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { kind, factId, reason, takeBack, when, controlled } = command;
      const seen = await findFact(tx, kind, factId);
      if (seen === null || !actsFor(viewer, seen.keeperId)) throw notFound(kind);
      const animalId = seen.animalId ?? seen.damId;
      await lockAnimals(tx, [animalId, seen.damId]);
      const fact = await findFact(tx, kind, factId);
      if (fact === null) throw notFound(kind);
      if (!takeBack && when !== undefined) {
        const possible = await decideDays(tx, kind, fact, when);
        if (!possible.ok) return possible;
      }
      const correction = takeBack
        ? null
        : { ...(when === undefined ? {} : { when }), ...(controlled === undefined ? {} : { controlled }) };
      const replacedBy = await supersede(tx, kind, factId, correction, reason);
      await tx.ledger.append(factCorrected, {
        subjects: [animalId],
        body: {
          kind,
          factId,
          replacedBy,
          ...(takeBack || controlled === undefined ? {} : { controlled }),
          ...(takeBack || when === undefined ? {} : { earliest: when?.earliest ?? null, latest: when?.latest ?? null }),
        },
        personal: { reason },
      });
      await requestOriginRecheck(tx, [animalId]);
      return decide({ factId: replacedBy, animalId });
    });
  }
}

async function decideDays(
  tx: Tx,
  kind: BreedingFactKind,
  fact: FactToCorrect,
  when: UncertainDay | null,
): Promise<Decision<null>> {
  const dam = await getForWrite(tx, fact.damId);
  if (kind === 'mating') {
    const sire = fact.sireId === null ? null : await getForWrite(tx, fact.sireId);
    return decideMating({ dam, sire, when }, tx.today);
  }
  if (kind === 'clutch' || fact.animalId === null)
    return decideClutch({ dam, laid: when, foundOn: fact.foundOn }, tx.today);
  return decideHatching({ young: await getForWrite(tx, fact.animalId), when, dam, laid: fact.laid }, tx.today);
}
