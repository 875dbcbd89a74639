import { Field, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { WarningType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { permitWarnings } from '../core/permit-validity.core.js';
import { type Cover } from '../core/document.core.js';
import { type DocumentView } from '../store/document-read.store.js';

export enum HoldingDocumentKindType {
  licence = 'licence',
  permit = 'permit',
  certificate = 'certificate',
  invoice = 'invoice',
  veterinary = 'veterinary',
  other = 'other',
}
registerEnumType(HoldingDocumentKindType, { name: 'HoldingDocumentKind' });

export enum PermitFormType {
  export_permit = 'export_permit',
  re_export_certificate = 're_export_certificate',
  import_permit = 'import_permit',
  personal_ownership_certificate = 'personal_ownership_certificate',
}
registerEnumType(PermitFormType, {
  name: 'PermitForm',
  description: 'Permits and certificates for which a law sets a longest validity.',
});

export enum DocumentStateType {
  valid_without_end = 'valid_without_end',
  not_yet_valid = 'not_yet_valid',
  valid = 'valid',
  lapsing = 'lapsing',
  lapsed = 'lapsed',
}
registerEnumType(DocumentStateType, {
  name: 'DocumentState',
  description: 'How a document stands today. `lapsing`: valid, and its last day is at most 90 days away.',
});

@ObjectType('DocumentFile', { description: 'A PDF, PNG or JPEG file.' })
export class DocumentFileType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  fileName!: string;

  @Field(() => String)
  mediaType!: string;

  @Field(() => Int, { description: 'Bytes.' })
  size!: number;

  @Field(() => String, { description: 'SHA-256 of the content, hexadecimal.' })
  sha256!: string;

  @Field(() => String, { description: 'Where it is downloaded, below the address of the server.' })
  path!: string;

  @Field(() => Date)
  uploadedAt!: Date;
}

@ObjectType('DocumentCover', {
  description: 'A stock record, a taxon with or without a number, or (neither) the whole collection.',
})
export class DocumentCoverType {
  @Field(() => Int, { nullable: true, description: 'How many of the taxon; null: not limited.' })
  quantity!: number | null;

  /** Not part of the schema: what the field resolvers work from. */
  cover!: Cover;
}

@ObjectType('HoldingDocument', {
  description: 'A paper about holding, moving or selling animals. What it allows the licensing authority decides.',
})
export class HoldingDocumentType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID, { nullable: true, description: 'Null where the document came along with an animal.' })
  keeperId!: string | null;

  @Field(() => HoldingDocumentKindType)
  kind!: HoldingDocumentKindType;

  @Field(() => PermitFormType, { nullable: true })
  permitForm!: PermitFormType | null;

  @Field(() => String)
  number!: string;

  @Field(() => String)
  authority!: string;

  @Field(() => String, { description: 'ISO 3166-1 alpha-2 or ISO 3166-2.' })
  jurisdiction!: string;

  @Field(() => DayType, { nullable: true })
  validFrom!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'The last valid day; null: no end.' })
  validUntil!: Day | null;

  @Field(() => [DocumentCoverType], { description: 'To a new holder only the animals they have or own.' })
  covers!: DocumentCoverType[];

  @Field(() => [DocumentFileType])
  files!: DocumentFileType[];

  @Field(() => ID, { nullable: true, description: 'The record that replaced this one; null: in force.' })
  supersededBy!: string | null;

  @Field(() => String, { nullable: true, description: 'Why it replaced an earlier record.' })
  reason!: string | null;

  @Field(() => Date)
  recordedAt!: Date;

  @Field(() => [WarningType])
  warnings!: WarningType[];

  /** Not part of the schema: what the field resolvers work from. */
  view!: DocumentView;
}

export const HoldingDocumentConnection = Connection(HoldingDocumentType, 'HoldingDocument');

/** GraphQL form of a document. */
export function toDocumentType(view: DocumentView): HoldingDocumentType {
  const { id, keeperId, number, authority, jurisdiction, validFrom, validUntil } = view;
  return {
    id,
    keeperId,
    number,
    authority,
    jurisdiction,
    validFrom,
    validUntil,
    kind: HoldingDocumentKindType[view.kind],
    permitForm: view.permitForm === null ? null : PermitFormType[view.permitForm],
    covers: view.covers.map((cover) => ({ quantity: cover.what === 'taxon' ? cover.quantity : null, cover })),
    files: view.files.map((file) => ({ ...file, path: `/documents/${id}/files/${file.id}` })),
    supersededBy: view.supersededBy,
    reason: view.reason,
    recordedAt: view.recordedAt,
    warnings: permitWarnings(view),
    view,
  };
}
