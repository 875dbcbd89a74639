import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requireAuthority } from '../../animal/index.js';
import { decide, invalidInput, type Viewer } from '../../kernel/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import {
  type Availability,
  availabilityProblems,
  BREEDING_OFFERS,
  decideAvailability,
} from '../core/availability.core.js';
import { AvailabilityStore } from '../store/availability.store.js';

/** What the holder says; `open: null` takes back what was said. */
export const setAvailabilityCommand = z.object({
  animalId: idInput,
  open: z.boolean().nullable(),
  until: dayInput.nullish(),
  offers: z.array(z.enum(BREEDING_OFFERS)).max(BREEDING_OFFERS.length).nullish(),
});
export type SetAvailabilityCommand = z.infer<typeof setAvailabilityCommand>;

const availabilitySet = defineLedgerAction(
  'breeding-availability.set',
  1,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    open: z.boolean().nullable(),
    until: z.string().nullable(),
    offers: z.array(z.enum(BREEDING_OFFERS)),
  }),
);

/** The keeper who has an animal says whether it is open for breeding. It lapses when the animal goes to another. */
@Injectable()
export class SetBreedingAvailability {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly availability: AvailabilityStore,
  ) {}

  /** NOT_FOUND, FORBIDDEN for all but the holder, NOT_AN_INDIVIDUAL, ANIMAL_NOT_ALIVE, INVALID_INPUT for a last day in the past. */
  async execute(viewer: Viewer, command: SetAvailabilityCommand): Promise<{ animalId: string }> {
    const request = {
      action: 'matching.set-availability',
      input: command,
      outcome: z.object({ animalId: z.uuid() }),
    };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId } = command;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId, true);
      const animal = await getForWrite(tx, animalId);
      const said: Availability | null =
        command.open === null
          ? null
          : { open: command.open, until: command.until ?? null, offers: [...new Set(command.offers ?? [])].toSorted() };
      const problems = said === null ? [] : availabilityProblems(said, tx.today);
      if (problems.length > 0) throw invalidInput(problems);
      const decision = decideAvailability(animal, said);
      if (!decision.ok) return decision;
      await this.availability.set(tx, { animalId, keeperId }, decision.value);
      await tx.ledger.append(availabilitySet, {
        subjects: [animalId],
        body: {
          animalId,
          keeperId,
          open: said?.open ?? null,
          until: said?.until ?? null,
          offers: [...(said?.offers ?? [])],
        },
      });
      return decide({ animalId });
    });
  }
}
