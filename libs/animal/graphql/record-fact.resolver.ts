import { Args, Field, ID, Mutation, ObjectType, Resolver } from '@nestjs/graphql';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CorrectFact, type CorrectedFact } from '../app/correct-fact.js';
import { type RecordedFact, RecordFacts } from '../app/record-facts.js';
import { WarnOfFacts } from '../app/warn-of-facts.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { type SexDependent } from '../store/sex-dependents.store.js';
import { RecheckKindType } from './animal.enums.js';
import { AnimalType, toAnimalType, WarningType } from './animal.types.js';
import { reasonedCommand, recordFactCommand, recordFactsCommand, supersedeFactCommand } from './fact.schema.js';
import {
  RecordFactInput,
  RecordFactsInput,
  RestoreFactInput,
  SupersedeFactInput,
  WithdrawFactInput,
} from './record-fact.inputs.js';

@ObjectType('Recheck', {
  description: 'Something recorded that the animal’s sex now contradicts. Nothing of it was changed.',
})
export class RecheckType {
  @Field(() => RecheckKindType)
  kind!: RecheckKindType;

  @Field(() => ID)
  id!: string;
}

@ObjectType('RecordedFact')
export class RecordedFactType {
  @Field(() => ID)
  factId!: string;

  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => [WarningType])
  warnings!: WarningType[];

  @Field(() => [RecheckType], { description: 'At most 100.' })
  recheck!: RecheckType[];
}

@ObjectType()
export class RecordFactPayload extends RecordedFactType {}

@ObjectType()
export class RecordFactsPayload {
  @Field(() => [RecordedFactType], { description: 'In the order given.' })
  facts!: RecordedFactType[];
}

@ObjectType()
export class CorrectFactPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => ID, { nullable: true, description: 'The fact now in force; null where one was taken back.' })
  factId!: string | null;

  @Field(() => [WarningType])
  warnings!: WarningType[];

  @Field(() => [RecheckType], { description: 'At most 100.' })
  recheck!: RecheckType[];
}

/** Recording facts, one or many, and putting them right. */
@Resolver()
export class RecordFactResolver {
  constructor(
    private readonly facts: RecordFacts,
    private readonly corrections: CorrectFact,
    private readonly warnings: WarnOfFacts,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => RecordFactPayload, { description: 'Records one fact about an animal an own keeper has or owns.' })
  @Authorize('animal.record-fact')
  async recordFact(@CurrentViewer() viewer: Viewer, @Args('input') input: RecordFactInput): Promise<RecordFactPayload> {
    const recorded = await this.facts.one(viewer, parseInput(recordFactCommand, input));
    const [shown] = await this.show(viewer, [recorded]);
    if (shown === undefined) throw notFound('animal');
    return shown;
  }

  @Mutation(() => RecordFactsPayload, {
    description: 'Records several facts about animals own keepers have or own: all of them, or none.',
  })
  @Authorize('animal.record-fact')
  async recordFacts(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordFactsInput,
  ): Promise<RecordFactsPayload> {
    const { facts } = parseInput(recordFactsCommand, input);
    return { facts: await this.show(viewer, await this.facts.many(viewer, facts)) };
  }

  @Mutation(() => CorrectFactPayload, { description: 'Puts another statement in the place of a fact, with a reason.' })
  @Authorize('animal.record-fact')
  async supersedeFact(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SupersedeFactInput,
  ): Promise<CorrectFactPayload> {
    return this.corrected(viewer, await this.corrections.supersede(viewer, parseInput(supersedeFactCommand, input)));
  }

  @Mutation(() => CorrectFactPayload, { description: 'Takes a fact back, with a reason; it stays in the history.' })
  @Authorize('animal.record-fact')
  async withdrawFact(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawFactInput,
  ): Promise<CorrectFactPayload> {
    return this.corrected(viewer, await this.corrections.withdraw(viewer, parseInput(reasonedCommand, input)));
  }

  @Mutation(() => CorrectFactPayload, {
    description: 'Brings a fact back that was corrected or taken back, in the place of what followed it.',
  })
  @Authorize('animal.record-fact')
  async restoreFact(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RestoreFactInput,
  ): Promise<CorrectFactPayload> {
    return this.corrected(viewer, await this.corrections.restore(viewer, parseInput(reasonedCommand, input)));
  }

  private async corrected(viewer: Viewer, { animalId, factId, recheck }: CorrectedFact): Promise<CorrectFactPayload> {
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (view === undefined) throw notFound('animal');
    const warnings = factId === null ? undefined : (await this.warnings.of([{ animalId, factId }])).get(factId);
    return {
      animal: toAnimalType(view),
      factId,
      warnings: [...sexWarnings(recheck), ...(warnings ?? [])],
      recheck: toRechecks(recheck),
    };
  }

  /** What was recorded, with what is worth knowing of it. A repeated request may find an animal that has gone on to others since. */
  private async show(viewer: Viewer, recorded: readonly RecordedFact[]): Promise<RecordedFactType[]> {
    const views = await this.animals.findVisible(viewer, [...new Set(recorded.map(({ animalId }) => animalId))]);
    const warnings = await this.warnings.of(recorded.filter(({ animalId }) => views.get(animalId)?.level === 'full'));
    return recorded.map(({ animalId, factId, recheck }) => {
      const view = views.get(animalId);
      if (view === undefined) throw notFound('animal');
      return {
        factId,
        animal: toAnimalType(view),
        warnings: [...sexWarnings(recheck), ...(warnings.get(factId) ?? [])],
        recheck: toRechecks(recheck),
      };
    });
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

function toRechecks(recheck: readonly SexDependent[]): RecheckType[] {
  return recheck.map(({ kind, id }) => ({ kind: RecheckKindType[kind], id }));
}
