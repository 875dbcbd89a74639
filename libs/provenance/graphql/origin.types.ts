import { Field, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType, OriginClassType } from '../../animal/index.js';

export enum OriginVerdictType {
  documented = 'documented',
  consistent = 'consistent',
  stated_only = 'stated_only',
  contradicted = 'contradicted',
}
registerEnumType(OriginVerdictType, {
  name: 'OriginVerdict',
  description: 'What the records do to the claim of origin.',
  valuesMap: {
    documented: {
      description: 'An unbroken chain recorded near the time, and an item of somebody who never had the animal.',
    },
    consistent: { description: 'Records carry the claim and nothing speaks against it.' },
    stated_only: { description: 'It is stated; nothing recorded carries it. No doubt is meant.' },
    contradicted: { description: 'Records do not go together with the claim. It may be a slip: see `askFirst`.' },
  },
});

export enum OriginPartType {
  captive_birth = 'captive_birth',
  generation = 'generation',
  lawful_stock = 'lawful_stock',
  identity = 'identity',
}
registerEnumType(OriginPartType, { name: 'OriginPart' });

export enum OriginWeightType {
  supports = 'supports',
  silent = 'silent',
  doubts = 'doubts',
  contradicts = 'contradicts',
}
registerEnumType(OriginWeightType, { name: 'OriginWeight' });

export enum OriginPurposeType {
  commercial = 'commercial',
  noncommercial = 'noncommercial',
}
registerEnumType(OriginPurposeType, { name: 'OriginPurpose', description: 'For what it was bred.' });

export enum SourceCodeType {
  W = 'W',
  R = 'R',
  D = 'D',
  C = 'C',
  F = 'F',
  I = 'I',
  O = 'O',
}
registerEnumType(SourceCodeType, {
  name: 'SourceCode',
  description: 'Source codes of permits. U is the authority’s to give and never suggested.',
  valuesMap: {
    W: { description: 'Taken from the wild.' },
    R: { description: 'Ranched.' },
    D: { description: 'Appendix I, bred commercially in a registered operation.' },
    C: { description: 'Bred in captivity.' },
    F: { description: 'Born in captivity, not meeting "bred in captivity".' },
    I: { description: 'Confiscated or seized.' },
    O: { description: 'From before the convention; goes with another code.' },
  },
});

@ObjectType('OriginItem', { description: 'What one rule has to say about the claim.' })
export class OriginItemType {
  @Field(() => OriginPartType)
  part!: OriginPartType;

  @Field(() => OriginWeightType)
  weighs!: OriginWeightType;

  @Field(() => String)
  words!: string;

  @Field(() => [ID], { description: 'The facts used, as far as they stand in records shown to the viewer.' })
  factIds!: string[];

  @Field(() => String, { nullable: true, description: 'Who says so, where it is not the records themselves.' })
  source!: string | null;

  @Field(() => Boolean, { description: 'It may be a slip: ask the keeper before anybody relies on it.' })
  askFirst!: boolean;
}

@ObjectType('Generation', { description: 'Generations in captivity: the lowest shown, the highest possible.' })
export class GenerationType {
  @Field(() => Int)
  lowest!: number;

  @Field(() => Int, { nullable: true, description: 'Null when no highest is known.' })
  highest!: number | null;
}

@ObjectType('SourceSuggestion', {
  description: 'The permit source code the records would suggest; the authority decides.',
})
export class SourceSuggestionType {
  @Field(() => [SourceCodeType], { description: 'One of these; empty when none is suggested.' })
  codes!: SourceCodeType[];

  @Field(() => [SourceCodeType], { description: 'To be given along with it; I also instead of it.' })
  alongside!: SourceCodeType[];

  @Field(() => String)
  words!: string;

  @Field(() => String)
  source!: string;
}

@ObjectType('OriginFinding', { description: 'What the records say of the claim of origin as it was made.' })
export class OriginFindingType {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => OriginClassType)
  claim!: OriginClassType;

  @Field(() => OriginVerdictType)
  verdict!: OriginVerdictType;

  @Field(() => [OriginItemType])
  items!: OriginItemType[];

  @Field(() => [String], { description: 'What would help.' })
  missing!: string[];

  @Field(() => Boolean, { description: 'A conflict may be a slip: ask the keeper before anybody relies on it.' })
  askFirst!: boolean;

  @Field(() => GenerationType)
  generation!: GenerationType;

  @Field(() => SourceSuggestionType)
  sourceCode!: SourceSuggestionType;

  @Field(() => String)
  caution!: string;
}
