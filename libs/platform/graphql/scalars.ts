import { CustomScalar, Field, ObjectType, Scalar } from '@nestjs/graphql';
import { type ASTNode, GraphQLError, Kind } from 'graphql';
import { type Day, parseDay, type UncertainDay } from '../../kernel/index.js';

/** Marks the GraphQL scalar `Day`; values are `Day` strings. */
export class DayType {}

function readDay(value: unknown): Day {
  const day = typeof value === 'string' ? parseDay(value) : null;
  if (day === null)
    throw new GraphQLError(
      'A day is written as year-month-day, for example 2026-05-03, and must exist in the calendar.',
    );
  return day;
}

@Scalar('Day', () => DayType)
export class DayScalar implements CustomScalar<string, Day> {
  description = 'A calendar day, `2026-05-03`.';

  parseValue(value: unknown): Day {
    return readDay(value);
  }

  serialize(value: unknown): string {
    return readDay(value);
  }

  parseLiteral(node: ASTNode): Day {
    return readDay(node.kind === Kind.STRING ? node.value : null);
  }
}

@ObjectType('UncertainDay', {
  description:
    'A day known exactly, roughly or not at all: EDTF (ISO 8601-2) as written, and the earliest and latest day it can be.',
})
export class UncertainDayType {
  @Field(() => String, { description: 'As it was written, for example `2026-05~`.' })
  edtf!: string;

  @Field(() => DayType, { nullable: true, description: 'Null when open to the past.' })
  earliest!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Null when open to the future.' })
  latest!: Day | null;
}

/** GraphQL form of an uncertain day. */
export function toUncertainDay(day: Pick<UncertainDay, 'edtf' | 'earliest' | 'latest'>): UncertainDayType {
  return { edtf: day.edtf, earliest: day.earliest, latest: day.latest };
}
