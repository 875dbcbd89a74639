import { CustomScalar, Scalar } from '@nestjs/graphql';
import { type ASTNode, GraphQLError, Kind, valueFromASTUntyped } from 'graphql';

/** Marks the GraphQL scalar `UncertainDayInput`; values are text or an object that `uncertainDay` of libs/animal reads. */
export class UncertainDayInputType {}

/** What a client may send where a day need not be known exactly. */
export type UncertainDayValue = string | Readonly<Record<string, unknown>>;

function readValue(value: unknown): UncertainDayValue {
  if (typeof value === 'string') return value;
  if (typeof value === 'object' && value !== null && !Array.isArray(value)) return { ...value };
  throw new GraphQLError(
    'A date is text like 2026-05-03 or 2026-05~, or { aboutDaysOld, plusMinusDays, on } or { foundOn, atMostDaysBefore }.',
  );
}

@Scalar('UncertainDayInput', () => UncertainDayInputType)
export class UncertainDayInputScalar implements CustomScalar<UncertainDayValue, UncertainDayValue> {
  description = `A day known exactly, roughly or not at all. EDTF text (\`2026-05-03\`, \`2026-05\`, \`2026-05~\`, \`2026-05-01/2026-05-09\`),
by itself or as \`{ edtf: "2026-05" }\`, or one of two sentences: \`{ aboutDaysOld: 75, plusMinusDays: 5, on: "2026-05-03" }\` (about 75 days old, or ago, on 3 May; without
\`plusMinusDays\` the day itself, flagged as approximate, for no width is known) and \`{ foundOn: "2026-05-03", atMostDaysBefore: 9 }\`
(found on 3 May, happened at most nine days before).`;

  parseValue(value: unknown): UncertainDayValue {
    return readValue(value);
  }

  serialize(value: unknown): UncertainDayValue {
    return readValue(value);
  }

  parseLiteral(node: ASTNode, variables?: Record<string, unknown> | null): UncertainDayValue {
    if (node.kind !== Kind.STRING && node.kind !== Kind.OBJECT) return readValue(null);
    return readValue(valueFromASTUntyped(node, variables));
  }
}
