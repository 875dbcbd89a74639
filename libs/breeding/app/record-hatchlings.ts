import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { lockAnimals, MARK_KINDS, requestOriginRecheck, requireChipTries, SEXES } from '../../animal/index.js';
import { registerAllStock } from '../../custody/index.js';
import { findOwnEnclosure, settleAnimals } from '../../housing/index.js';
import { actsFor, type Day, decide, type Decision, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { type ParentStatement } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import { decideHatchDay, KNOWN_ANSWERS } from '../core/breeding.core.js';
import { incubationWarnings } from '../core/plausibility.core.js';
import { insertHatchings } from '../store/breeding-write.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { type Brood, broodOf, statementsFor } from './brood-parents.js';
import { type HatchlingsCommand, type Youngling } from './hatchlings-command.js';
import { openEggs } from './open-eggs.js';
import { type ClutchInHand, meantEggs, takeClutch } from './meant-eggs.js';
import { tellYoung } from './young-followers.js';
import { unnumberedYoung } from './unnumbered-young.js';
import { youngRecord } from './young-record.js';

const hatchlingsRecorded = defineLedgerAction(
  'breeding.hatchlings-recorded',
  1,
  z.strictObject({
    clutchId: z.uuid().nullable(),
    keeperId: z.uuid(),
    taxonId: z.uuid(),
    controlled: z.enum(KNOWN_ANSWERS),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    since: z.string(),
    enclosureId: z.uuid().nullable(),
    young: z.array(
      z.strictObject({
        animalId: z.uuid(),
        registerNumber: z.string(),
        sex: z.enum(SEXES),
        markKinds: z.array(z.enum(MARK_KINDS)),
        eggNumber: z.int().nullable(),
        count: z.int(),
        hatchingId: z.uuid().nullable(),
      }),
    ),
    parents: z.array(
      z.strictObject({
        role: z.enum(['sire', 'dam']),
        basis: z.string(),
        candidates: z.array(z.strictObject({ parentId: z.uuid(), probability: z.number() })),
      }),
    ),
  }),
);

const outcome = z.object({ animalIds: z.array(z.uuid()), clutchId: z.uuid().nullable(), warnings: breedingWarnings });

/**
 * Registers the young of a clutch, or young that were found without one, in one act: records, holder, owner, hatchings, eggs
 * and parents, all of it or nothing. Parents nobody named are worked out from who lived with whom.
 */
@Injectable()
export class RecordHatchlings {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND for a clutch that no keeper of the viewer recorded or has eggs of, a keeper they do not act for, a parent or enclosure they do not see;
   * HATCHED_BEFORE_LAID, DAY_IN_FUTURE, HELD_BEFORE_BIRTH, HELD_BEFORE_EGG, HATCHLING_EGG_NOT_SAID, EGG_*, EGGS_*, CLUTCH_WITHOUT_EGGS, LINEAGE_*.
   */
  async execute(viewer: Viewer, command: HatchlingsCommand): Promise<z.infer<typeof outcome>> {
    const request = { action: 'breeding.record-hatchlings', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      await requireChipTries(
        tx,
        command.young.flatMap(({ marks }) => marks.map(({ kind }) => kind)),
      );
      const taken = command.clutchId === null ? null : await takeClutchAndDams(tx, viewer, command.clutchId);
      const clutch = taken?.clutch ?? null;
      const numbers = command.young.flatMap((each) => each.eggNumber ?? []);
      const meant = taken === null ? null : meantEggs(viewer, taken, { numbers, ending: true });
      if (meant?.ok === false) return meant;
      const held = meant?.value ?? null;
      const said =
        taken === null || held === null ? decide(null) : await unnumberedYoung(tx, taken, held.keeperId, command.young);
      if (!said.ok) return said;
      const keeperId = command.keeperId ?? held?.keeperId ?? null;
      if (!actsFor(viewer, keeperId) || keeperId === null) throw notFound('keeper');
      const possible = decideHatchDay({ when: command.when, laid: clutch?.laid ?? null }, tx.today);
      if (!possible.ok) return possible;
      const since = decideSince(command, held?.since ?? null, tx.today);
      if (!since.ok) return since;
      const brood = await broodOf(tx, viewer, { ...command, keeperId, clutch });
      const opened =
        clutch === null || held === null
          ? noEggs(numbers)
          : await openEggs(tx, clutch, numbers, command.when, held.keeperId);
      if (!opened.ok) return opened;
      const parents = await statementsFor(tx, viewer, brood, command);
      if (!parents.ok) return parents;
      const made = await register(tx, command, {
        keeperId,
        since: since.value,
        brood,
        parents: parents.value.statements,
      });
      const hatchingIds = await insertHatchings(
        tx,
        clutch === null
          ? []
          : made.map(({ animalId, young }) => ({
              clutchId: clutch.originalId,
              animalId,
              eggId: young.eggNumber === null ? null : (opened.value.ids.get(young.eggNumber) ?? null),
              keeperId: held === null || held.keeperId === clutch.keeperId ? null : held.keeperId,
              controlled: command.controlled,
              when: command.when,
            })),
      );
      const animalIds = made.map(({ animalId }) => animalId);
      const placed = await settle(tx, viewer, keeperId, animalIds, since.value, command.enclosureId);
      if (!placed.ok) return placed;
      await tx.ledger.append(hatchlingsRecorded, {
        subjects: [...animalIds, keeperId, ...(clutch === null ? [] : [clutch.originalId])],
        body: {
          clutchId: clutch?.originalId ?? null,
          keeperId,
          taxonId: brood.taxonId,
          controlled: command.controlled,
          earliest: command.when?.earliest ?? null,
          latest: command.when?.latest ?? null,
          since: since.value,
          enclosureId: command.enclosureId,
          young: made.map(({ animalId, registerNumber, young }, i) => ({
            animalId,
            registerNumber,
            sex: young.sex ?? 'unknown',
            markKinds: young.marks.map((mark) => mark.kind),
            eggNumber: young.eggNumber,
            count: young.count,
            hatchingId: hatchingIds[i] ?? null,
          })),
          parents: parents.value.statements.map(({ role, basis, candidates }) => ({
            role,
            basis,
            candidates: candidates.map(({ parentId, probability }) => ({ parentId, probability })),
          })),
        },
        personal: personalOf(command.young),
      });
      await requestOriginRecheck(tx, animalIds);
      if (clutch !== null && held !== null) {
        const young = { clutchId: clutch.originalId, keeperId, eggsWith: held.keeperId, animalIds };
        const followed = await tellYoung(tx, young);
        if (!followed.ok) return followed;
      }
      const hatched = { earliest: command.when?.earliest ?? null, latest: command.when?.latest ?? null };
      const warnings = [
        ...opened.value.warnings,
        ...(clutch?.laid ? incubationWarnings(clutch.laid, hatched, brood.bounds) : []),
        ...parents.value.warnings,
        ...placed.value,
      ];
      return decide({ animalIds, clutchId: clutch?.id ?? null, warnings });
    });
  }
}

/** The clutch, locked after its dams, as the order of locks wants. */
async function takeClutchAndDams(tx: Tx, viewer: Viewer, id: string): Promise<ClutchInHand> {
  return takeClutch(tx, viewer, id, ({ dams }) =>
    lockAnimals(
      tx,
      dams.map((dam) => dam.id),
    ),
  );
}

function noEggs(
  numbers: readonly number[],
): Decision<{ ids: ReadonlyMap<number, string>; warnings: BreedingWarning[] }> {
  if (numbers.length > 0)
    return refuse('CLUTCH_WITHOUT_EGGS', 'An egg is named but no clutch. Name the clutch, or leave the eggs out.');
  return decide({ ids: new Map(), warnings: [] });
}

/** The day from which the keeper has the young: the last on which they can have come, or the one given. */
function decideSince(command: HatchlingsCommand, eggsSince: Day | null, today: Day): Decision<Day> {
  const latest = command.when?.latest ?? today;
  const hatched = latest < today ? latest : today;
  // What hatched on the way came to its keeper with the egg.
  const since = command.since ?? (eggsSince !== null && hatched < eggsSince ? eggsSince : hatched);
  if (eggsSince !== null && since < eggsSince)
    return refuse(
      'HELD_BEFORE_EGG',
      `The egg came to you on ${eggsSince}, so its young were not with you on ${since}.`,
    );
  if (since > today) return refuse('DAY_IN_FUTURE', `${since} is still to come.`);
  if (command.when?.earliest && since < command.when.earliest)
    return refuse('HELD_BEFORE_BIRTH', `By the days you give, they had not hatched on ${since}.`);
  return decide(since);
}

async function register(
  tx: Tx,
  command: HatchlingsCommand,
  of: { keeperId: string; since: Day; brood: Brood; parents: readonly ParentStatement[] },
) {
  const made = command.young.map((young) => ({ animalId: uuid(), young }));
  const numbers = await registerAllStock(
    tx,
    of.brood.taxonId,
    made.map(({ animalId, young }) => ({
      id: animalId,
      animal: youngRecord(young, command, of),
      parents: of.parents,
      holder: { kind: 'keeper', keeperId: of.keeperId },
      from: of.since,
      arrivedBy: 'born',
      ended: null,
      owners: [{ owner: { kind: 'keeper', keeperId: of.keeperId }, parts: 1 }],
    })),
  );
  return made.map((each, i) => ({ ...each, registerNumber: numbers[i] ?? '' }));
}

async function settle(
  tx: Tx,
  viewer: Viewer,
  keeperId: string,
  animalIds: readonly string[],
  from: Day,
  enclosureId: string | null,
): Promise<Decision<BreedingWarning[]>> {
  if (enclosureId === null) return decide([]);
  const enclosure = await findOwnEnclosure(tx, [keeperId], enclosureId);
  if (enclosure === null) throw notFound('enclosure');
  return settleAnimals(tx, viewer, { animalIds, enclosure, from, to: null });
}

function personalOf(young: readonly Youngling[]): Record<string, string> {
  return Object.fromEntries(
    young.flatMap(({ name, marks }, i) => [
      ...(name === null ? [] : [[`young.${i}.name`, name] as const]),
      ...marks.map((mark, m) => [`young.${i}.marks.${m}`, mark.value] as const),
    ]),
  );
}
