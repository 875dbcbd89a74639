import { Args, Mutation, Query, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { AskAboutMark } from '../app/ask-about-mark.js';
import { MarkKindType } from './animal.enums.js';
import {
  MarkAnswerType,
  MarkReportType,
  markQuestion,
  tellKeeperCommand,
  TellKeeperInput,
  TellKeeperPayload,
} from './mark.inputs.js';

@Resolver()
export class MarkQueryResolver {
  constructor(private readonly about: AskAboutMark) {}

  @Query(() => MarkAnswerType, {
    description:
      'For who has found an animal: whether a record carries its mark, and what is reported. Names nobody; 20 questions an hour.',
  })
  @Authorize('animal.ask-about-mark')
  async markQuery(
    @CurrentViewer() viewer: Viewer,
    @Args('kind', { type: () => MarkKindType, description: 'transponder, other_chip, ring or tag.' })
    kind: MarkKindType,
    @Args('value', { type: () => String }) value: string,
  ): Promise<MarkAnswerType> {
    const answer = await this.about.ask(viewer, parseInput(markQuestion, { kind, value }));
    return { known: answer.known, reported: MarkReportType[answer.reported] };
  }

  @Mutation(() => TellKeeperPayload, {
    description:
      'Leaves word with the keeper of a found animal through the registry. Neither learns who the other is, unless you write it.',
  })
  @Authorize('animal.ask-about-mark')
  async tellKeeper(@CurrentViewer() viewer: Viewer, @Args('input') input: TellKeeperInput): Promise<TellKeeperPayload> {
    return this.about.tell(viewer, parseInput(tellKeeperCommand, input));
  }
}
