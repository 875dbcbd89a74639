import { Args, Field, Float, ID, InputType, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { RecordFact, type RecordFactCommand } from '../app/record-fact.js';
import { FACT_BODIES } from '../fact-body.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { uncertainDay } from '../uncertain-day.schema.js';
import { type SexDependent } from '../store/sex-dependents.store.js';
import {
  AcquisitionMannerType,
  CertaintyType,
  NoteTopicType,
  OriginClassType,
  RecheckKindType,
  SexType,
  TraitBasisType,
  TraitStateType,
} from './animal.enums.js';
import { AnimalType, toAnimalType, WarningType } from './animal.types.js';
import { idInput } from '../../platform/input/index.js';

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

@InputType({ description: 'Exactly one of weightGrams, sex, seen, note, name, origin, acquisition, trait, hybrid.' })
export class RecordFactInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => String, { nullable: true, description: 'When it was so, EDTF. Today when left out.' })
  when?: string | null;

  @Field(() => Float, { nullable: true })
  weightGrams?: number | null;

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

  @Field(() => String, { nullable: true, description: 'Why an earlier statement is replaced.' })
  reason?: string | null;
}

@ObjectType('Recheck', {
  description: 'Something recorded that the animal’s sex now contradicts. Nothing of it was changed.',
})
export class RecheckType {
  @Field(() => RecheckKindType)
  kind!: RecheckKindType;

  @Field(() => ID)
  id!: string;
}

@ObjectType()
export class RecordFactPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => [WarningType])
  warnings!: WarningType[];

  @Field(() => [RecheckType], { description: 'At most 100.' })
  recheck!: RecheckType[];
}

const given = <T>(value: T | null | undefined): T | undefined => value ?? undefined;

/** Input as a command. Zod checks each fact with the schema it is stored by. */
const recordFactCommand = z
  .object({
    animalId: idInput,
    when: uncertainDay.nullish(),
    reason: z.string().trim().min(1).max(500).nullish(),
    weightGrams: z.number().nullish(),
    sex: z.object({ sex: z.string(), method: z.string().nullish(), confidence: z.string().nullish() }).nullish(),
    seen: z.literal(true, 'Write true, or leave the field out.').nullish(),
    note: z.object({ topic: z.string(), text: z.string() }).nullish(),
    name: z.string().nullish(),
    origin: z.object({ originClass: z.string(), statedBy: z.string().nullish() }).nullish(),
    acquisition: z
      .object({ manner: z.string(), country: z.string().nullish(), statedBy: z.string().nullish() })
      .nullish(),
    trait: z
      .object({
        gene: z.string(),
        state: z.string(),
        alleles: z.array(z.string()).nullish(),
        basis: z.string(),
        certainty: z.string().nullish(),
        statedBy: z.string().nullish(),
      })
      .nullish(),
    hybrid: z.object({ of: z.array(z.string()), statedBy: z.string().nullish() }).nullish(),
  })
  .transform((input, context): RecordFactCommand => {
    const facts = [
      ...(given(input.weightGrams) === undefined
        ? []
        : [{ kind: 'weight', path: 'weightGrams', body: { grams: input.weightGrams } }]),
      ...(input.sex
        ? [
            {
              kind: 'sex',
              path: 'sex',
              body: { sex: input.sex.sex, method: given(input.sex.method), confidence: given(input.sex.confidence) },
            },
          ]
        : []),
      ...(input.seen ? [{ kind: 'seen', path: 'seen', body: {} }] : []),
      ...(input.note ? [{ kind: 'note', path: 'note', body: input.note }] : []),
      ...(input.origin
        ? [
            {
              kind: 'origin',
              path: 'origin',
              body: { originClass: input.origin.originClass, statedBy: given(input.origin.statedBy) },
            },
          ]
        : []),
      ...(input.acquisition
        ? [
            {
              kind: 'acquisition',
              path: 'acquisition',
              body: {
                manner: input.acquisition.manner,
                country: given(input.acquisition.country),
                statedBy: given(input.acquisition.statedBy),
              },
            },
          ]
        : []),
      ...(input.trait
        ? [
            {
              kind: 'trait',
              path: 'trait',
              body: {
                ...input.trait,
                alleles: given(input.trait.alleles),
                certainty: given(input.trait.certainty),
                statedBy: given(input.trait.statedBy),
              },
            },
          ]
        : []),
      ...(input.hybrid
        ? [
            {
              kind: 'hybrid',
              path: 'hybrid',
              body: { of: input.hybrid.of, statedBy: given(input.hybrid.statedBy) },
            },
          ]
        : []),
      ...(given(input.name) === undefined ? [] : [{ kind: 'name', path: 'name', body: { name: input.name } }]),
    ] as const;
    const [fact] = facts;
    if (fact === undefined || facts.length > 1) {
      context.addIssue({
        code: 'custom',
        message: `${facts.length} facts are given. | Give exactly one of weightGrams, sex, seen, note, name, origin, acquisition, trait, hybrid.`,
      });
      return z.NEVER;
    }
    const checked = FACT_BODIES[fact.kind as 'weight'].safeParse(fact.body);
    if (!checked.success) {
      for (const issue of checked.error.issues)
        context.addIssue({ code: 'custom', message: issue.message, path: [fact.path] });
      return z.NEVER;
    }
    return {
      animalId: input.animalId,
      fact: { kind: fact.kind, body: checked.data } as RecordFactCommand['fact'],
      when: input.when ?? null,
      reason: given(input.reason),
    };
  });

@Resolver()
export class RecordFactResolver {
  constructor(
    private readonly useCase: RecordFact,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => RecordFactPayload, { description: 'Records one fact about an animal an own keeper has or owns.' })
  @Authorize('animal.record-fact')
  async recordFact(@CurrentViewer() viewer: Viewer, @Args('input') input: RecordFactInput): Promise<RecordFactPayload> {
    const command = parseInput(recordFactCommand, input);
    const { recheck } = await this.useCase.execute(viewer, command);
    const view = (await this.animals.findVisible(viewer, [command.animalId])).get(command.animalId);
    if (view === undefined) throw notFound('animal');
    return {
      animal: toAnimalType(view),
      warnings: sexWarnings(recheck),
      recheck: recheck.map(({ kind, id }) => ({ kind: RecheckKindType[kind], id })),
    };
  }
}

const WORDS: Readonly<Record<SexDependent['kind'], string>> = {
  offspring: 'the parentage of its young',
  mating: 'a mating',
  clutch: 'a clutch',
};

/** One warning for each kind of record that the sex contradicts. */
function sexWarnings(recheck: readonly SexDependent[]): WarningType[] {
  return [...new Set(recheck.map(({ kind }) => kind))].map((kind) => ({
    code: `SEX_CONTRADICTS_${kind.toUpperCase()}`,
    message: `By this sex ${WORDS[kind]} cannot be as recorded. Correct what is wrong: the record, or the sex.`,
  }));
}
