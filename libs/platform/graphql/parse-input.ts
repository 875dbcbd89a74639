import { type z } from 'zod';
import { type FieldProblem, invalidInput } from '../../kernel/index.js';

/**
 * Checks an operation's input. Throws INVALID_INPUT naming every field that does not fit, by path from `input`. Schemas
 * write their messages as `what is wrong | how to mend it`; without a bar the remedy is general.
 */
export function parseInput<T>(schema: z.ZodType<T>, input: unknown): T {
  const parsed = schema.safeParse(input);
  if (parsed.success) return parsed.data;
  throw invalidInput(parsed.error.issues.map(toProblem));
}

function toProblem(issue: z.core.$ZodIssue): FieldProblem {
  const [message = '', remedy = 'Correct this field and send the request again.'] = issue.message.split(' | ');
  return { path: ['input', ...issue.path.map(String)].join('.'), message, remedy };
}
