import { z } from 'zod';
import { dayInput } from '../../platform/input/index.js';
import { MAX_INSTALMENTS } from './title.core.js';
import { type TransferKind, TITLES, type TransferTerms } from '../core/transfer.core.js';

/** Most parts a whole animal is counted in when a share of it is named; keeps every product of parts exact. */
const MAX_PARTS = 1_000;

const currencies = new Set(Intl.supportedValuesOf('currency'));

/** The currency of an amount in an input. */
export const currencyInput = z
  .string()
  .refine((code) => currencies.has(code), 'This is not a currency. | Write a code of ISO 4217, for example EUR.');

/** A part of a whole animal in an input: 1 of 2 is a half. */
export const shareInput = z
  .object({
    parts: z.int().min(1, 'A share has at least one part. | Write 1 of 2 for a half.'),
    of: z
      .int()
      .min(1, 'A whole has at least one part. | Write 1 of 2 for a half.')
      .max(MAX_PARTS, 'The share is too fine. | Count the whole in at most 1,000 parts.'),
  })
  .refine(
    ({ parts, of }) => parts <= of,
    'The share is more than the whole. | Write at most as many parts as the whole has.',
  );

/** What an offer says of property and payment. */
export const titleInput = {
  title: z.enum(TITLES).nullish(),
  dueBack: dayInput.nullish(),
  instalments: z
    .array(
      z.object({
        dueOn: dayInput,
        minor: z.int().positive('An instalment is more than nothing. | Write at least 1, in cents or the like.'),
      }),
    )
    .max(MAX_INSTALMENTS, `There are too many instalments. | Name at most ${MAX_INSTALMENTS}.`)
    .nullish(),
};

type TitleCommand = z.infer<z.ZodObject<typeof titleInput>>;

/** The terms of an offer about property; what is lent stays its owner's without saying so. */
export function titleTerms(
  command: TitleCommand & { kind: TransferKind },
): Pick<TransferTerms, 'title' | 'dueBack' | 'instalments'> {
  const { kind, title, dueBack, instalments } = command;
  const lent = kind === 'breeding_loan' || kind === 'loan_return';
  return {
    title: title ?? (lent ? 'stays' : 'on_receipt'),
    dueBack: dueBack ?? null,
    instalments: instalments ?? [],
  };
}
