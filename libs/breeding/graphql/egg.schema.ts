import { z } from 'zod';
import { uncertainDay } from '../../animal/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { type CorrectEggEventCommand } from '../app/correct-egg-event.js';
import { CANDLINGS, EGG_EVENTS } from '../core/egg.core.js';
import { PAIRING_STATES } from '../core/pairing.core.js';
import { eggNumber, flag, optionalDay, optionalId, orNull, reason, when } from './breeding.schema.js';

const celsius = z
  .number()
  .min(-10, 'Colder than -10 °C. | Write degrees Celsius.')
  .max(60, 'Hotter than 60 °C. | Write degrees Celsius.')
  .multipleOf(0.1, 'Finer than a tenth of a degree. | Round it, for example 28.5.');
const incubator = z
  .string()
  .trim()
  .min(1, 'This is empty. | Write how you call it, or leave it out.')
  .max(100, 'Longer than 100 characters. | Shorten it.');

export const recordEggEventsCommand = z
  .object({
    clutchId: idInput,
    eggs: z
      .array(eggNumber)
      .min(1, 'No egg is named. | Name at least one, or leave it out for all that are left.')
      .max(200, 'More than 200 eggs. | Leave them out to record it of all that are left.')
      .nullish()
      .transform(orNull),
    kind: z.enum(EGG_EVENTS),
    when,
    enclosureId: optionalId,
    incubator: incubator.nullish().transform(orNull),
    celsius: celsius.nullish().transform(orNull),
    candling: z.enum(CANDLINGS).nullish().transform(orNull),
  })
  .superRefine((input, context) => {
    const problem = (path: string, message: string) => context.addIssue({ code: 'custom', path: [path], message });
    if ((input.kind === 'candled') !== (input.candling !== null))
      problem(
        'candling',
        'A candling, and nothing else, has a result. | Write fertile, clear or unsure with `candled`.',
      );
    const placed = input.enclosureId !== null || input.incubator !== null;
    if (input.enclosureId !== null && input.incubator !== null)
      problem('incubator', 'Two places are named. | Name an enclosure of yours, or an incubator in words.');
    if (input.kind === 'moved' && !placed)
      problem('enclosureId', 'Where to is not said. | Name an enclosure or an incubator.');
  });

export const correctEggEventCommand = z
  .object({
    eventId: idInput,
    reason,
    takeBack: flag,
    when: uncertainDay.nullable().optional(),
    enclosureId: idInput.nullable().optional(),
    incubator: incubator.nullable().optional(),
    celsius: celsius.nullable().optional(),
    candling: z.enum(CANDLINGS).nullish(),
  })
  .transform((input, context): CorrectEggEventCommand => {
    const changed = [input.when, input.enclosureId, input.incubator, input.celsius, input.candling ?? undefined];
    if (input.takeBack === changed.some((value) => value !== undefined)) {
      context.addIssue({
        code: 'custom',
        message: input.takeBack
          ? 'What is taken back is not changed as well. | Leave the other fields out.'
          : 'Nothing is corrected. | Give what changes, or take it back.',
      });
      return z.NEVER;
    }
    const { enclosureId, incubator: name, celsius: degrees } = input;
    return {
      eventId: input.eventId,
      reason: input.reason,
      takeBack: input.takeBack,
      when: input.when,
      // A new place takes the place of the old one, whichever of the two it is.
      enclosureId: enclosureId === undefined && name ? null : enclosureId,
      incubator: name === undefined && enclosureId ? null : name,
      celsius: degrees,
      candling: input.candling ?? undefined,
    };
  });

export const planPairingCommand = z.object({
  damId: idInput,
  sireId: idInput,
  from: dayInput,
  until: optionalDay,
  note: z
    .string()
    .trim()
    .min(1, 'This is empty. | Write something, or leave it out.')
    .max(1000, 'Longer than 1000 characters. | Shorten it.')
    .nullish()
    .transform(orNull),
});

export const movePairingCommand = z.object({
  pairingId: idInput,
  state: z.enum(PAIRING_STATES),
  version: z.int().nullish().transform(orNull),
});
