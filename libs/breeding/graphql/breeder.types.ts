import { Field, ID, ObjectType, registerEnumType } from '@nestjs/graphql';

export enum BreederReasonType {
  owner_at_mating = 'owner_at_mating',
  owner_at_laying = 'owner_at_laying',
  agreed = 'agreed',
  owner_unknown = 'owner_unknown',
  several_dams = 'several_dams',
  owner_varies = 'owner_varies',
  disputed = 'disputed',
  more_than_named = 'more_than_named',
}
registerEnumType(BreederReasonType, {
  name: 'BreederReason',
  description: 'Why somebody counts as breeder, and why it is only possible.',
  valuesMap: {
    owner_at_mating: { description: 'Owned the dam on a day of a recorded mating that can have led to it.' },
    owner_at_laying: {
      description: 'Owned the dam on a day of laying, or of birth: no mating that can have led to it is recorded.',
    },
    agreed: { description: 'By the terms of the loan on which the dam was.' },
    owner_unknown: { description: 'It is not recorded whose the dam was.' },
    several_dams: { description: 'Another possible dam is somebody else’s.' },
    owner_varies: {
      description: 'On other days that count the dam was somebody else’s, or it is not recorded whose.',
    },
    disputed: { description: 'Whose the dam was is disputed.' },
    more_than_named: { description: 'Stands for more breeders than a list names.' },
  },
});

export enum BreederCertaintyType {
  yes = 'yes',
  possible = 'possible',
}
registerEnumType(BreederCertaintyType, {
  name: 'BreederCertainty',
  valuesMap: { yes: { description: 'By the records, whichever of the possible dams and days it was.' } },
});

@ObjectType('Breeder', {
  description:
    'Who bred young: whoever owned the dam at the mating, wherever they hatch; co-owners together. One that is not named to you, and one that is not known, stands here without identity.',
})
export class BreederType {
  @Field(() => ID, { nullable: true })
  keeperId!: string | null;

  @Field(() => String, { nullable: true, description: 'Of somebody without an account, for who recorded them.' })
  outsideName!: string | null;

  @Field(() => BreederCertaintyType)
  sure!: BreederCertaintyType;

  @Field(() => [BreederReasonType], {
    description: 'What it tells of the dam’s owners, the keeper of the clutch reads, and the owner it is about.',
  })
  why!: BreederReasonType[];
}
