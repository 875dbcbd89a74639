import { Field, Float, ID, InputType } from '@nestjs/graphql';
import { UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';
import { MAX_FACTS } from '../app/record-facts.js';
import {
  AcquisitionMannerType,
  BirthMannerType,
  CertaintyType,
  NoteTopicType,
  OriginClassType,
  SexType,
  TraitBasisType,
  TraitStateType,
} from './animal.enums.js';
import { MeasurementInput } from './measurement.types.js';

@InputType()
export class SexFactInput {
  @Field(() => SexType)
  sex!: SexType;

  @Field(() => String, { nullable: true, description: 'How it was established.' })
  method?: string | null;

  @Field(() => CertaintyType, { nullable: true })
  confidence?: CertaintyType | null;
}

@InputType()
export class NoteFactInput {
  @Field(() => NoteTopicType)
  topic!: NoteTopicType;

  @Field(() => String)
  text!: string;
}

@InputType()
export class OriginFactInput {
  @Field(() => OriginClassType)
  originClass!: OriginClassType;

  @Field(() => String, { nullable: true, description: 'Who says so, where it is not the keeper.' })
  statedBy?: string | null;
}

@InputType()
export class AcquisitionFactInput {
  @Field(() => AcquisitionMannerType)
  manner!: AcquisitionMannerType;

  @Field(() => String, { nullable: true, description: 'ISO 3166-1, two letters.' })
  country?: string | null;

  @Field(() => String, { nullable: true, description: 'Who says so, where it is not the keeper.' })
  statedBy?: string | null;
}

@InputType({ description: 'One gene with one locus.' })
export class TraitFactInput {
  @Field(() => String, { description: 'The gene or trait, as the trade or the test names it.' })
  gene!: string;

  @Field(() => TraitStateType)
  state!: TraitStateType;

  @Field(() => [String], { nullable: true, description: 'The two alleles, where they are known.' })
  alleles?: string[] | null;

  @Field(() => TraitBasisType)
  basis!: TraitBasisType;

  @Field(() => CertaintyType, { nullable: true })
  certainty?: CertaintyType | null;

  @Field(() => String, { nullable: true, description: 'Who says so, where it is not the keeper.' })
  statedBy?: string | null;
}

@InputType()
export class HybridFactInput {
  @Field(() => [String], { description: 'The taxa it descends from, by name; an empty list takes the statement back.' })
  of!: string[];

  @Field(() => String, { nullable: true, description: 'Who says so, where it is not the keeper.' })
  statedBy?: string | null;
}

/** What a fact can say. */
@InputType({ isAbstract: true })
class SaidInput {
  @Field(() => Float, { nullable: true, description: 'The same as a measurement of the weight in g.' })
  weightGrams?: number | null;

  @Field(() => MeasurementInput, { nullable: true, description: 'A weight, length or temperature with its unit.' })
  measurement?: MeasurementInput | null;

  @Field(() => SexFactInput, { nullable: true })
  sex?: SexFactInput | null;

  @Field(() => Boolean, { nullable: true, description: 'True: it was seen alive.' })
  seen?: boolean | null;

  @Field(() => NoteFactInput, { nullable: true })
  note?: NoteFactInput | null;

  @Field(() => String, { nullable: true })
  name?: string | null;

  @Field(() => OriginFactInput, { nullable: true, description: 'Where it comes from, as claimed.' })
  origin?: OriginFactInput | null;

  @Field(() => AcquisitionFactInput, { nullable: true, description: 'How it was acquired; `when` is the day.' })
  acquisition?: AcquisitionFactInput | null;

  @Field(() => TraitFactInput, { nullable: true, description: 'What it shows or carries of a gene.' })
  trait?: TraitFactInput | null;

  @Field(() => HybridFactInput, { nullable: true, description: 'It descends from more than one taxon, as stated.' })
  hybrid?: HybridFactInput | null;
}

@InputType({
  description: 'Exactly one of weightGrams, measurement, sex, seen, note, name, origin, acquisition, trait, hybrid.',
})
export class RecordFactInput extends SaidInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When it was so. Today when left out.' })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true, description: 'Why an earlier statement is replaced.' })
  reason?: string | null;
}

@InputType()
export class RecordFactsInput {
  @Field(() => [RecordFactInput], { description: `1 to ${MAX_FACTS}, about one animal or several.` })
  facts!: RecordFactInput[];
}

@InputType({
  description:
    'What is left out stays. Of weightGrams, measurement, sex, note, name, origin, acquisition, trait, hybrid, birthManner one at most.',
})
export class SupersedeFactInput extends SaidInput {
  @Field(() => ID)
  factId!: string;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When it was so. Null = the day is not known.' })
  when?: UncertainDayValue | null;

  @Field(() => BirthMannerType, { nullable: true, description: 'Of a birth.' })
  birthManner?: BirthMannerType | null;

  @Field(() => String, { description: 'Why the earlier statement is wrong.' })
  reason!: string;
}

@InputType()
export class WithdrawFactInput {
  @Field(() => ID)
  factId!: string;

  @Field(() => String, { description: 'Why it should not have been recorded.' })
  reason!: string;
}

@InputType()
export class RestoreFactInput {
  @Field(() => ID)
  factId!: string;

  @Field(() => String, { description: 'Why it was right after all.' })
  reason!: string;
}
