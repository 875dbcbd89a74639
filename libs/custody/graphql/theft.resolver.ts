import { Args, Field, ID, InputType, Mutation, ObjectType, Query, registerEnumType, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  Connection,
  type ConnectionOf,
  CurrentViewer,
  momentAfter,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { ReplyToTheft } from '../app/reply-to-theft.js';
import { TheftReportStore, type TheftReportView } from '../store/theft-report.store.js';

export enum TheftSideType {
  reporter = 'reporter',
  respondent = 'respondent',
  coordinator = 'coordinator',
}
registerEnumType(TheftSideType, { name: 'TheftSide', description: 'As whom you read a report of theft.' });

@ObjectType('TheftReport', {
  description:
    'An owner’s statement that an animal was stolen, and the other side’s. Statements, not findings; nobody is named.',
})
export class TheftReportType {
  @Field(() => ID)
  id!: string;

  @Field(() => TheftSideType)
  side!: TheftSideType;

  @Field(() => String)
  registerNumber!: string;

  @Field(() => Boolean, { description: 'Whether, by the owner, the police have recorded it.' })
  policeInformed!: boolean;

  @Field(() => String, { nullable: true, description: 'Shown to the reporting owner only.' })
  policeReference!: string | null;

  @Field(() => String, { nullable: true })
  statement!: string | null;

  @Field(() => Date)
  reportedAt!: Date;

  @Field(() => String, { nullable: true, description: 'What the keeper who has it, or had it lately, states.' })
  reply!: string | null;

  @Field(() => Date, { nullable: true })
  repliedAt!: Date | null;

  @Field(() => Boolean, { description: 'Whether you may still state your side.' })
  mayReply!: boolean;

  @Field(() => Date, { nullable: true, description: 'When the animal was found, or the report taken back.' })
  closedAt!: Date | null;
}

export const TheftReportConnection = Connection(TheftReportType, 'TheftReport');

@InputType()
export class ReplyToTheftReportInput {
  @Field(() => ID)
  reportId!: string;

  @Field(() => String, { description: 'Your side, once; it cannot be changed afterwards.' })
  statement!: string;
}

@ObjectType()
export class ReplyToTheftReportPayload {
  @Field(() => TheftReportType)
  report!: TheftReportType;
}

const replyCommand = z.object({
  reportId: idInput,
  statement: z
    .string()
    .trim()
    .min(1, 'This is empty. | Write your side.')
    .max(2000, 'This is longer than 2000 characters. | Shorten it.'),
});

@Resolver()
export class TheftResolver {
  constructor(
    private readonly useCase: ReplyToTheft,
    private readonly reports: TheftReportStore,
  ) {}

  @Query(() => TheftReportConnection, {
    description:
      'Reports an own keeper made, reports it may answer, and for a coordinator those of the region or taxon. Newest first.',
  })
  @Authorize('animal.read-thefts')
  async theftReports(@CurrentViewer() viewer: Viewer, @Args() args: PageArgs): Promise<ConnectionOf<TheftReportType>> {
    const page = toPage(args, 2);
    const key = momentAfter(page.after);
    const reports = await this.reports.page(viewer, page.first, key);
    return toConnection(reports, page.first, (report) => [report.reportedAt.toISOString(), report.id], toType);
  }

  @Mutation(() => ReplyToTheftReportPayload, {
    description: 'The keeper who has an animal reported stolen, or had it lately, states their side once.',
  })
  @Authorize('animal.reply-to-theft')
  async replyToTheftReport(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: ReplyToTheftReportInput,
  ): Promise<ReplyToTheftReportPayload> {
    const { reportId } = await this.useCase.execute(viewer, parseInput(replyCommand, input));
    const [report] = await this.reports.page(viewer, 1, null, reportId);
    if (report === undefined) throw notFound('report');
    return { report: toType(report) };
  }
}

function toType({ side, ...report }: TheftReportView): TheftReportType {
  return {
    ...report,
    side: TheftSideType[side],
    mayReply: side === 'respondent' && report.reply === null && report.closedAt === null,
  };
}
