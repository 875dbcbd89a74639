import { Field, ObjectType } from '@nestjs/graphql';

@ObjectType('Export', { description: 'What the registry holds of a keeper, as one file.' })
export class ExportType {
  @Field(() => String)
  fileName!: string;

  @Field(() => String)
  mediaType!: string;

  @Field(() => String, { description: 'The document as JSON text; its `schemaVersion` says which form it has.' })
  json!: string;
}
