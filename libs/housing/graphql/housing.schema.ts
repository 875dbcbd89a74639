import { z } from 'zod';
import { dayInput, idInput } from '../../platform/input/index.js';
import { type CorrectStayCommand } from '../app/correct-stay.js';

const optionalDay = dayInput.nullish().transform((value) => value ?? null);
const enclosureName = z
  .string()
  .trim()
  .min(1, 'A name has at least one character. | Write how you call it.')
  .max(100, 'Longer than 100 characters. | Shorten it.');
const room = z
  .string()
  .trim()
  .min(1, 'This is empty. | Write how you call the room, or leave it out.')
  .max(100, 'Longer than 100 characters. | Shorten it.');
const setting = z.enum(['indoor', 'outdoor', 'unknown']);

export const recordEnclosureCommand = z.object({
  keeperId: idInput,
  name: enclosureName,
  setting: setting.nullish().transform((value) => value ?? 'unknown'),
  room: room.nullish().transform((value) => value ?? null),
  controlled: z
    .enum(['yes', 'no', 'unknown'])
    .nullish()
    .transform((value) => value ?? 'unknown'),
  controlledSince: optionalDay,
});

export const updateEnclosureCommand = z.object({
  enclosureId: idInput,
  name: enclosureName.nullish().transform((value) => value ?? undefined),
  setting: setting.nullish().transform((value) => value ?? undefined),
  room: room.nullable().optional(),
});

export const placeAnimalsCommand = z.object({
  enclosureId: idInput,
  animalIds: z
    .array(idInput)
    .min(1, 'No animal is named. | Name at least one.')
    .max(100, 'More than 100 animals. | Place them in several steps.'),
  from: optionalDay,
  until: optionalDay,
});

export const correctStayCommand = z
  .object({
    stayId: idInput,
    reason: z.string().trim().min(1, 'A reason is needed. | Write one.').max(500, 'Too long. | Shorten it.'),
    takeBack: z
      .boolean()
      .nullish()
      .transform((value) => value ?? false),
    from: dayInput.nullish(),
    until: dayInput.nullable().optional(),
    enclosureId: idInput.nullish(),
  })
  .transform((input, context): CorrectStayCommand => {
    const given = (value: unknown) => value !== undefined && value !== null;
    const changes = given(input.from) || input.until !== undefined || given(input.enclosureId);
    if (input.takeBack === changes) {
      context.addIssue({
        code: 'custom',
        message: input.takeBack
          ? 'What is taken back is not changed as well. | Leave days and enclosure out.'
          : 'Nothing is corrected. | Give `from`, `until` or `enclosureId`, or take it back.',
      });
      return z.NEVER;
    }
    return {
      stayId: input.stayId,
      reason: input.reason,
      takeBack: input.takeBack,
      from: input.from ?? undefined,
      until: input.until,
      enclosureId: input.enclosureId ?? undefined,
    };
  });
