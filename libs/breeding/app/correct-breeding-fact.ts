import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getNamed, lockAnimals, requestOriginRecheck, type StockRecord } from '../../animal/index.js';
import { findOwnEnclosure } from '../../housing/index.js';
import {
  actsFor,
  type Day,
  decide,
  type Decision,
  notFound,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { getVisibleParent } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { decideClutch, decideHatching, decideMating, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import {
  BREEDING_FACTS,
  type BreedingFactKind,
  findHatching,
  findMating,
  supersede,
} from '../store/breeding-write.store.js';
import { decideClutchCorrection } from '../core/egg-holder.core.js';
import { findClutch, findClutchEver, lockClutch, type NewClutch, supersedeClutch } from '../store/clutch.store.js';
import { tellCorrected } from './clutch-followers.js';
import { type EggFollowed, followHatching } from './egg-of-hatching.js';
import { readEggsInHand } from '../store/egg-custody.store.js';

export type CorrectBreedingFactCommand = {
  readonly kind: BreedingFactKind;
  readonly factId: string;
  readonly reason: string;
  /** It did not happen after all: nothing takes its place. */
  readonly takeBack: boolean;
  /** Undefined = as it was; null = the day is not known. */
  readonly when: UncertainDay | null | undefined;
  readonly controlled: KnownAnswer | undefined;
  /** Of a clutch alone; undefined = as it was. */
  readonly foundOn?: Day | null | undefined;
  readonly eggCount?: number | null | undefined;
  readonly enclosureId?: string | null | undefined;
  /** The dam, now that she is certain. */
  readonly damId?: string | undefined;
};

const factCorrected = defineLedgerAction(
  'breeding.fact-corrected',
  3,
  z.strictObject({
    kind: z.enum(BREEDING_FACTS),
    factId: z.uuid(),
    replacedBy: z.uuid().nullable(),
    controlled: z.enum(KNOWN_ANSWERS).optional(),
    earliest: z.string().nullable().optional(),
    latest: z.string().nullable().optional(),
    foundOn: z.string().nullable().optional(),
    eggCount: z.int().nullable().optional(),
    enclosureId: z.uuid().nullable().optional(),
    damId: z.uuid().optional(),
    /** The event of an egg that went with its hatching. */
    eggEvent: z.strictObject({ eventId: z.uuid(), replacedBy: z.uuid().nullable() }).optional(),
  }),
);

const outcome = z.object({ factId: z.uuid().nullable(), animalId: z.uuid() });

type Corrected = {
  readonly replacedBy: string | null;
  readonly animalIds: readonly [string, ...string[]];
  readonly egg?: EggFollowed | null;
};

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
      const corrected =
        kind === 'mating'
          ? await correctMating(tx, viewer, command)
          : kind === 'clutch'
            ? await correctClutch(tx, viewer, command)
            : await correctHatching(tx, viewer, command);
      if (!corrected.ok) return corrected;
      const { replacedBy, animalIds, egg = null } = corrected.value;
      const { foundOn, eggCount, enclosureId, damId } = command;
      await tx.ledger.append(factCorrected, {
        subjects: [...animalIds],
        body: {
          kind,
          factId,
          replacedBy,
          ...(takeBack || controlled === undefined ? {} : { controlled }),
          ...(takeBack || when === undefined ? {} : { earliest: when?.earliest ?? null, latest: when?.latest ?? null }),
          ...(foundOn === undefined ? {} : { foundOn }),
          ...(eggCount === undefined ? {} : { eggCount }),
          ...(enclosureId === undefined ? {} : { enclosureId }),
          ...(damId === undefined ? {} : { damId }),
          ...(egg === null ? {} : { eggEvent: egg }),
        },
        personal: { reason },
      });
      await requestOriginRecheck(tx, animalIds);
      return decide({ factId: replacedBy, animalId: animalIds[0] });
    });
  }
}

const changesOf = ({ takeBack, when, controlled }: CorrectBreedingFactCommand) =>
  takeBack ? null : { ...(when === undefined ? {} : { when }), ...(controlled === undefined ? {} : { controlled }) };

async function correctMating(
  tx: Tx,
  viewer: Viewer,
  command: CorrectBreedingFactCommand,
): Promise<Decision<Corrected>> {
  const seen = await findMating(tx, command.factId);
  if (seen === null || !actsFor(viewer, seen.keeperId)) throw notFound('mating');
  await lockAnimals(tx, [seen.damId]);
  const mating = await findMating(tx, command.factId);
  if (mating === null) throw notFound('mating');
  if (!command.takeBack && command.when !== undefined) {
    const dam = await getNamed(tx, mating.damId);
    const sire = mating.sireId === null ? null : await getNamed(tx, mating.sireId);
    const possible = decideMating({ dam, sire, when: command.when }, tx.today);
    if (!possible.ok) return possible;
  }
  const replacedBy = await supersede(tx, 'mating', mating.id, changesOf(command), command.reason);
  return decide({ replacedBy, animalIds: [mating.damId] });
}

async function correctHatching(
  tx: Tx,
  viewer: Viewer,
  command: CorrectBreedingFactCommand,
): Promise<Decision<Corrected>> {
  const seen = await findHatching(tx, command.factId);
  const named = seen === null ? null : await findClutchEver(tx.db, seen.clutchId);
  if (seen === null || named === null || !actsFor(viewer, seen.keeperId ?? named.keeperId)) throw notFound('hatching');
  await lockAnimals(tx, [seen.animalId]);
  const clutch = await lockClutch(tx, named.originalId);
  const hatching = await findHatching(tx, command.factId);
  if (hatching === null) throw notFound('hatching');
  if (!command.takeBack && command.when !== undefined) {
    const dams = await recordsOf(tx, clutch);
    const young = await getNamed(tx, hatching.animalId);
    const possible = decideHatching({ young, when: command.when, dams, laid: clutch?.laid ?? null }, tx.today);
    if (!possible.ok) return possible;
  }
  const replacedBy = await supersede(tx, 'hatching', hatching.id, changesOf(command), command.reason);
  const { takeBack, when, reason } = command;
  const follows = clutch !== null && (takeBack || when !== undefined);
  const egg = follows
    ? await followHatching(tx, clutch, hatching, { when: takeBack ? undefined : when, reason }, tx.today)
    : decide(null);
  return egg.ok ? decide({ replacedBy, animalIds: [hatching.animalId], egg: egg.value }) : egg;
}

async function correctClutch(
  tx: Tx,
  viewer: Viewer,
  command: CorrectBreedingFactCommand,
): Promise<Decision<Corrected>> {
  const seen = await findClutch(tx.db, command.factId);
  if (seen === null || !actsFor(viewer, seen.keeperId)) throw notFound('clutch');
  const damIds = [...seen.dams.map((dam) => dam.id), ...(command.damId === undefined ? [] : [command.damId])];
  await lockAnimals(tx, damIds);
  const clutch = await lockClutch(tx, seen.originalId);
  const [first, ...others] = damIds;
  if (clutch === null || first === undefined) throw notFound('clutch');
  const eggs = (await readEggsInHand(tx.db, [clutch])).get(clutch.originalId) ?? [];
  const kept = decideClutchCorrection(clutch, eggs, command);
  if (!kept.ok) return kept;
  if (command.damId !== undefined) await getVisibleParent(tx, viewer, command.damId);
  if (command.enclosureId) {
    const enclosure = await findOwnEnclosure(tx, [clutch.keeperId], command.enclosureId);
    if (enclosure === null) throw notFound('enclosure');
  }
  const changed: NewClutch = {
    ...clutch,
    ...(command.when === undefined ? {} : { laid: command.when }),
    ...(command.controlled === undefined ? {} : { controlled: command.controlled }),
    ...(command.foundOn === undefined ? {} : { foundOn: command.foundOn }),
    ...(command.eggCount === undefined ? {} : { eggCount: command.eggCount }),
    ...(command.enclosureId === undefined ? {} : { enclosureId: command.enclosureId }),
    ...(command.damId === undefined ? {} : { dams: [{ id: command.damId, probability: 1 }] }),
  };
  if (!command.takeBack) {
    const possible = decideClutch({ ...changed, dams: await recordsOf(tx, changed) }, tx.today);
    if (!possible.ok) return possible;
  }
  const replacedBy = await supersedeClutch(tx, clutch, command.takeBack ? null : changed, command.reason);
  const followed = await tellCorrected(tx, { clutchId: clutch.originalId, keeperId: clutch.keeperId });
  return followed.ok ? decide({ replacedBy, animalIds: [first, ...others] }) : followed;
}

async function recordsOf(tx: Tx, clutch: Pick<NewClutch, 'dams'> | null): Promise<StockRecord[]> {
  const records: StockRecord[] = [];
  for (const dam of clutch?.dams ?? []) records.push(await getNamed(tx, dam.id));
  return records;
}
