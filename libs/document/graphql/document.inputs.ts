import { Field, ID, InputType, Int, ObjectType } from '@nestjs/graphql';
import { z } from 'zod';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { type RecordDocumentCommand } from '../app/record-document.js';
import { type SupersedeDocumentCommand } from '../app/supersede-document.js';
import { type Cover, DOCUMENT_KINDS, MAX_COVERS } from '../core/document.core.js';
import { parseJurisdiction } from '../core/jurisdiction.core.js';
import { PERMIT_FORMS } from '../core/permit-validity.core.js';
import { HoldingDocumentKindType, HoldingDocumentType, PermitFormType } from './document.types.js';
import { idInput } from '../../platform/input/index.js';

@InputType({ description: 'Exactly one of animalId, taxonId, wholeCollection.' })
export class DocumentCoverInput {
  @Field(() => ID, { nullable: true })
  animalId?: string | null;

  @Field(() => ID, { nullable: true })
  taxonId?: string | null;

  @Field(() => Int, { nullable: true, description: 'How many of the taxon; not limited when left out.' })
  quantity?: number | null;

  @Field(() => Boolean, { nullable: true, description: 'True: everything the keeper has.' })
  wholeCollection?: boolean | null;
}

@InputType()
export class RecordDocumentInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => HoldingDocumentKindType)
  kind!: HoldingDocumentKindType;

  @Field(() => PermitFormType, { nullable: true })
  permitForm?: PermitFormType | null;

  @Field(() => String)
  number!: string;

  @Field(() => String)
  authority!: string;

  @Field(() => String, { description: 'ISO 3166-1 alpha-2 or ISO 3166-2, for example `DE` or `DE-BY`.' })
  jurisdiction!: string;

  @Field(() => DayType, { nullable: true })
  validFrom?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'The last valid day.' })
  validUntil?: Day | null;

  @Field(() => [DocumentCoverInput])
  covers!: DocumentCoverInput[];
}

@InputType({ description: 'What is left out stays as it is.' })
export class SupersedeDocumentInput {
  @Field(() => ID)
  documentId!: string;

  @Field(() => String, { description: 'Why: a slip that is corrected, or that the authority prolonged it.' })
  reason!: string;

  @Field(() => HoldingDocumentKindType, { nullable: true })
  kind?: HoldingDocumentKindType | null;

  @Field(() => PermitFormType, { nullable: true, description: 'Null clears it.' })
  permitForm?: PermitFormType | null;

  @Field(() => String, { nullable: true })
  number?: string | null;

  @Field(() => String, { nullable: true })
  authority?: string | null;

  @Field(() => String, { nullable: true })
  jurisdiction?: string | null;

  @Field(() => DayType, { nullable: true, description: 'Null clears it.' })
  validFrom?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Null clears it: no end.' })
  validUntil?: Day | null;

  @Field(() => [DocumentCoverInput], { nullable: true })
  covers?: DocumentCoverInput[] | null;
}

@ObjectType()
export class RecordDocumentPayload {
  @Field(() => HoldingDocumentType)
  document!: HoldingDocumentType;
}

@ObjectType()
export class SupersedeDocumentPayload {
  @Field(() => HoldingDocumentType, { description: 'The record that is in force now.' })
  document!: HoldingDocumentType;
}

const line = (what: string) =>
  z
    .string()
    .trim()
    .min(1, `The ${what} is missing. | Write it as it stands on the paper.`)
    .max(200, `The ${what} is too long. | Use at most 200 characters.`);

const cover = z
  .object({
    animalId: idInput.nullish(),
    taxonId: idInput.nullish(),
    quantity: z.int().min(1, 'A quantity is at least 1. | Leave it out where the paper names none.').nullish(),
    wholeCollection: z.literal(true, 'This can only be true. | Write true, or leave the field out.').nullish(),
  })
  .transform(({ animalId, taxonId, quantity, wholeCollection }, context): Cover => {
    const named = [animalId, taxonId, wholeCollection].filter((value) => value !== null && value !== undefined).length;
    if (named !== 1)
      context.addIssue('A cover names one thing. | Give exactly one of animalId, taxonId, wholeCollection.');
    if (typeof quantity === 'number' && (taxonId ?? null) === null)
      context.addIssue('A quantity belongs to a taxon. | Leave it out, or name the taxon.');
    if (animalId) return { what: 'animal', animalId };
    if (taxonId) return { what: 'taxon', taxonId, quantity: quantity ?? null };
    return { what: 'collection' };
  });

const jurisdiction = z.string().transform((text, context) => {
  const code = parseJurisdiction(text);
  if (code !== null) return code;
  context.addIssue('There is no such country or region. | Write an ISO 3166 code, for example DE or DE-BY.');
  return z.NEVER;
});

// Checked by the scalar already.
const day = z.custom<Day>((value) => typeof value === 'string');

const fields = {
  kind: z.enum(DOCUMENT_KINDS),
  permitForm: z.enum(PERMIT_FORMS).nullable(),
  number: line('number'),
  authority: line('authority'),
  jurisdiction,
  validFrom: day.nullable(),
  validUntil: day.nullable(),
  covers: z
    .array(cover)
    .min(1, 'The document covers nothing. | Name animals, taxa, or the whole collection.')
    .max(MAX_COVERS, `The list is too long. | Name at most ${MAX_COVERS} animals and taxa.`),
};

/** Input of `recordDocument` as its command. */
export const recordDocumentCommand: z.ZodType<RecordDocumentCommand> = z
  .object({
    ...fields,
    keeperId: idInput,
    permitForm: fields.permitForm.optional(),
    validFrom: fields.validFrom.optional(),
    validUntil: fields.validUntil.optional(),
  })
  .transform((input) => ({
    ...input,
    permitForm: input.permitForm ?? null,
    validFrom: input.validFrom ?? null,
    validUntil: input.validUntil ?? null,
  }));

const cannotClear = 'This cannot be cleared. | Leave it out to keep it as it is.';
const kept = <T extends z.ZodType>(schema: T) =>
  z.preprocess((value, context) => {
    if (value === null) context.addIssue(cannotClear);
    return value;
  }, schema.optional());

/** Input of `supersedeDocument` as its command. */
export const supersedeDocumentCommand: z.ZodType<SupersedeDocumentCommand> = z
  .object({
    documentId: idInput,
    reason: z
      .string()
      .trim()
      .min(1, 'The reason is missing. | Say in a few words what was wrong or what changed.')
      .max(500, 'The reason is too long. | Use at most 500 characters.'),
    kind: kept(fields.kind),
    permitForm: fields.permitForm.optional(),
    number: kept(fields.number),
    authority: kept(fields.authority),
    jurisdiction: kept(fields.jurisdiction),
    validFrom: fields.validFrom.optional(),
    validUntil: fields.validUntil.optional(),
    covers: kept(fields.covers),
  })
  .transform(({ documentId, reason, ...given }) => ({
    documentId,
    reason,
    changes: Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined)),
  }));
