import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requestOriginRecheck } from '../../animal/index.js';
import { findOwnEnclosure, lockEnclosure, settleAnimals } from '../../housing/index.js';
import { type Day, decide, exactDay, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import { type ClutchFacts } from '../store/clutch.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { familyIn } from './family-in.js';
import { type ClutchInHand, getClutchInHand, meantEggs, takeClutch } from './meant-eggs.js';
import { writeEggEvents } from './record-egg-events.js';

export type MoveFamilyCommand = {
  readonly toEnclosureId: string;
  /** Everybody and every clutch that is in this one; null = only who is named. */
  readonly fromEnclosureId: string | null;
  readonly animalIds: readonly string[];
  readonly clutches: readonly {
    readonly clutchId: string;
    /** Null = every egg that is left. */
    readonly eggs: readonly number[] | null;
  }[];
  /** Today when null. */
  readonly on: Day | null;
};

const familyMoved = defineLedgerAction(
  'breeding.family-moved',
  1,
  z.strictObject({
    toEnclosureId: z.uuid(),
    fromEnclosureId: z.uuid().nullable(),
    keeperId: z.uuid(),
    animalIds: z.array(z.uuid()),
    clutches: z.array(z.strictObject({ clutchId: z.uuid(), eggs: z.array(z.int()).nullable() })),
    on: z.string(),
  }),
);

const outcome = z.object({ enclosureId: z.uuid(), animals: z.int(), clutches: z.int(), warnings: breedingWarnings });

/** Most animals of one move. */
const MAX_MOVED = 200;

/** Moves animals together with their eggs to another enclosure of their keeper, all of them or none. */
@Injectable()
export class MoveFamily {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN; MOVE_EMPTY, MOVE_TOO_MANY, and what placing and an event of eggs refuse. */
  async execute(viewer: Viewer, command: MoveFamilyCommand): Promise<z.infer<typeof outcome>> {
    const request = { action: 'breeding.move-family', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
      const enclosure = await findOwnEnclosure(tx, keepers, command.toEnclosureId);
      if (enclosure === null) throw notFound('enclosure');
      const { keeperId } = enclosure;
      const on = command.on ?? tx.today;
      const seen = await this.gather(tx, viewer, keeperId, command);
      if (seen.animalIds.length > MAX_MOVED)
        return refuse(
          'MOVE_TOO_MANY',
          `${seen.animalIds.length} animals at once; at most ${MAX_MOVED}. Move them in steps.`,
        );
      await lockAnimals(tx, seen.animalIds);
      const locked = new Map<string, ClutchInHand>();
      for (const { originalId } of seen.clutches) locked.set(originalId, await takeClutch(tx, viewer, originalId));
      // Read again after the locks: who or what somebody took elsewhere meanwhile is not dragged along.
      const now = await this.gather(tx, viewer, keeperId, command);
      const family = { ...now, animalIds: now.animalIds.filter((id) => seen.animalIds.includes(id)) };
      const clutches: { clutch: ClutchFacts; eggs: readonly number[] | null; keeperId: string }[] = [];
      for (const { originalId, eggs } of family.clutches) {
        const taken = locked.get(originalId);
        if (taken === undefined) continue;
        if (eggs === undefined) {
          return refuse('MOVE_EGGS_UNCLEAR', 'Some eggs of a clutch are elsewhere. Name the eggs that move.', {
            blockers: [{ kind: 'clutch', id: originalId, remedy: 'Name its eggs, or correct their number.' }],
          });
        }
        const meant = meantEggs(viewer, taken, { numbers: eggs, ending: false });
        if (!meant.ok) return meant;
        clutches.push({ clutch: taken.clutch, eggs: meant.value.numbers, keeperId: meant.value.keeperId });
      }
      if (family.animalIds.length === 0 && clutches.length === 0)
        return refuse('MOVE_EMPTY', 'There is nobody and no clutch to move.');
      await lockEnclosure(tx, enclosure.id);
      const warnings: BreedingWarning[] = [];
      if (family.animalIds.length > 0) {
        const settled = await settleAnimals(tx, viewer, { animalIds: family.animalIds, enclosure, from: on, to: null });
        if (!settled.ok) return settled;
        warnings.push(...settled.value);
      }
      for (const { clutch, eggs, keeperId: eggKeeper } of clutches) {
        const details = { incubator: null, celsius: null, candling: null };
        const event = { eggs, kind: 'moved' as const, when: exactDay(on), enclosureId: enclosure.id, ...details };
        const moved = await writeEggEvents(tx, clutch, event, eggKeeper);
        if (!moved.ok) return moved;
      }
      const moved = clutches.map(({ clutch, eggs }) => ({
        clutchId: clutch.originalId,
        eggs: eggs === null ? null : [...eggs],
      }));
      await tx.ledger.append(familyMoved, {
        subjects: [enclosure.id, ...family.animalIds, ...moved.map(({ clutchId }) => clutchId)],
        body: {
          toEnclosureId: enclosure.id,
          fromEnclosureId: command.fromEnclosureId,
          keeperId,
          animalIds: family.animalIds,
          clutches: moved,
          on,
        },
      });
      await requestOriginRecheck(tx, family.animalIds);
      return decide({
        enclosureId: enclosure.id,
        animals: family.animalIds.length,
        clutches: clutches.length,
        warnings,
      });
    });
  }

  /** Who and what moves, each once, in the order in which it is locked. */
  private async gather(tx: Tx, viewer: Viewer, keeperId: string, command: MoveFamilyCommand) {
    const animalIds = new Set(command.animalIds);
    const clutches = new Map<string, readonly number[] | null | undefined>();
    for (const { clutchId, eggs } of command.clutches) {
      const clutch = await getClutchInHand(tx, viewer, clutchId);
      clutches.set(clutch.originalId, eggs);
    }
    if (command.fromEnclosureId !== null) {
      const family = await familyIn(tx, keeperId, command.fromEnclosureId, tx.today);
      for (const animalId of family.animalIds) animalIds.add(animalId);
      for (const [originalId, eggs] of family.eggs) if (!clutches.has(originalId)) clutches.set(originalId, eggs);
    }
    return {
      animalIds: [...animalIds].toSorted(),
      clutches: [...clutches]
        .filter(([, eggs]) => eggs === undefined || eggs === null || eggs.length > 0)
        .map(([originalId, eggs]) => ({ originalId, eggs }))
        .toSorted((a, b) => (a.originalId < b.originalId ? -1 : 1)),
    };
  }
}
