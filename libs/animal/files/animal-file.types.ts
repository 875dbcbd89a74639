import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../graphql/animal.types.js';
import { type AnimalFileView } from './animal-file.store.js';

export enum AnimalFileKindType {
  picture = 'picture',
  paper = 'paper',
}
registerEnumType(AnimalFileKindType, { name: 'AnimalFileKind' });

@ObjectType('AnimalFileWithdrawal')
export class AnimalFileWithdrawalType {
  @Field(() => Date)
  at!: Date;

  @Field(() => String)
  reason!: string;
}

@ObjectType('AnimalFile', {
  description: 'A picture or paper of an animal. Addresses lead to the bytes and want the same authorisation.',
})
export class AnimalFileType {
  @Field(() => ID)
  id!: string;

  @Field(() => AnimalFileKindType)
  kind!: AnimalFileKindType;

  @Field(() => String, { nullable: true })
  caption!: string | null;

  @Field(() => String, { nullable: true, description: 'When it was taken, as the keeper says: EDTF.' })
  taken!: string | null;

  @Field(() => String, {
    nullable: true,
    description: 'When it was taken, as the camera says: by a clock of its own, without a time zone. No proof.',
  })
  takenByCamera!: string | null;

  @Field(() => Date)
  uploadedAt!: Date;

  @Field(() => Int, { nullable: true, description: 'In pixels, upright.' })
  width!: number | null;

  @Field(() => Int, { nullable: true })
  height!: number | null;

  @Field(() => String, { description: 'Of a picture the copy without place and camera.' })
  address!: string;

  @Field(() => String, { nullable: true, description: 'The picture, small.' })
  thumbnailAddress!: string | null;

  @Field(() => String, { nullable: true, description: 'The bytes as sent: for the keeper who sent them alone.' })
  originalAddress!: string | null;

  @Field(() => String, { nullable: true, description: 'The name it was sent with; for the keeper who sent it alone.' })
  fileName!: string | null;

  @Field(() => AnimalFileWithdrawalType, { nullable: true })
  withdrawn!: AnimalFileWithdrawalType | null;
}

@InputType()
export class WithdrawAnimalFileInput {
  @Field(() => ID)
  fileId!: string;

  @Field(() => String)
  reason!: string;
}

@ObjectType()
export class WithdrawAnimalFilePayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

/** A file as shown. */
export function toAnimalFileType(file: AnimalFileView): AnimalFileType {
  const { id, animalId, copies, original } = file;
  const address = `/animals/${animalId}/files/${id}`;
  return {
    id,
    kind: copies === null ? AnimalFileKindType.paper : AnimalFileKindType.picture,
    caption: file.caption,
    taken: file.edtf,
    takenByCamera: copies?.claimedTakenAt ?? null,
    uploadedAt: file.uploadedAt,
    width: copies?.width ?? null,
    height: copies?.height ?? null,
    address,
    thumbnailAddress: copies === null ? null : `${address}/thumbnail`,
    originalAddress: original === null ? null : `${address}/original`,
    fileName: original === null ? null : file.fileName,
    withdrawn: file.withdrawn,
  };
}
