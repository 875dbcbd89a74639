import { Field, Float, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../animal/index.js';
import { ReferencePopulationType } from '../lineage/index.js';
import { Connection, type ConnectionOf } from '../platform/graphql/index.js';

export enum AnswerType {
  yes = 'yes',
  no = 'no',
  possible = 'possible',
}
registerEnumType(AnswerType, { name: 'Answer', description: 'An answer about days that may be uncertain.' });

export enum DistanceBandType {
  same_region = 'same_region',
  same_country = 'same_country',
  another_country = 'another_country',
  not_shown = 'not_shown',
}
registerEnumType(DistanceBandType, {
  name: 'DistanceBand',
  description:
    'How far the holder is. Not shown where the holder hides their holdings or fewer than five in the viewer’s clubs have the line.',
});

@ObjectType('MateOption')
export class MateOptionType {
  @Field(() => Int, { description: 'Place in the ranking, from 1.' })
  place!: number;

  @Field(() => AnimalType, {
    description: 'Its `holder` is null where the holder is hidden: ask through the registry.',
  })
  animal!: AnimalType;

  @Field(() => Float, { description: 'Inbreeding coefficient their offspring would have; a lower bound.' })
  offspringInbreeding!: number;

  @Field(() => Float, { description: 'Mean kinship of this mate with the living; low = a rare line.' })
  meanKinship!: number;

  @Field(() => Float, {
    description:
      'Share of the offspring’s ancestry that leads back to founders, 0 to 1. An animal without recorded parents counts as one.',
  })
  knownAncestry!: number;

  @Field(() => AnswerType, {
    description: 'Whether it is grown up today, by the birth recorded and the taxon’s profile.',
  })
  grownUp!: AnswerType;

  @Field(() => DistanceBandType)
  distance!: DistanceBandType;

  @Field(() => String, { description: 'Why it stands at its place.' })
  reason!: string;
}

export const MateOptionConnection = Connection(MateOptionType, 'MateOption');

@ObjectType('MatesLeftOut', {
  description: 'Visible animals that are no option today, counted.',
})
export class MatesLeftOutType {
  @Field(() => Int, { description: 'In quarantine or promised elsewhere; which of the two is not told.' })
  notAvailable!: number;

  @Field(() => Int)
  notGrownUp!: number;
}

@ObjectType('MateOptions', {
  description:
    'Mates in all collections that share with the viewer: least inbred offspring first, then the rarer line, then the better known ancestry. A figure is no advice to breed: health, age and law come first.',
})
export class MateOptionsType {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => MateOptionConnection)
  options!: ConnectionOf<MateOptionType>;

  @Field(() => MatesLeftOutType)
  leftOut!: MatesLeftOutType;

  @Field(() => ReferencePopulationType)
  population!: ReferencePopulationType;
}
