import { type z } from 'zod';
import { type FieldProblem, invalidInput, isSoundText } from '../../kernel/index.js';

/**
 * Checks an operation's input. Throws INVALID_INPUT naming every field that does not fit, by path from `input`. Schemas
 * write their messages as `what is wrong | how to mend it`; without a bar the remedy is general. No schema needs to think
 * of characters that cannot be stored: they are refused here, in whichever field they stand.
 */
export function parseInput<T>(schema: z.ZodType<T>, input: unknown): T {
  const unsound = findUnsoundText(input, 'input');
  if (unsound.length > 0) throw invalidInput(unsound);
  const parsed = schema.safeParse(input);
  if (parsed.success) return parsed.data;
  throw invalidInput(parsed.error.issues.map(toProblem));
}

function findUnsoundText(value: unknown, path: string): FieldProblem[] {
  if (typeof value === 'object' && value !== null)
    return Object.entries(value).flatMap(([key, each]) => findUnsoundText(each, `${path}.${key}`));
  if (typeof value !== 'string' || isSoundText(value)) return [];
  const message = 'There is a character in it that is no text (NUL, or half of a surrogate pair).';
  return [{ path, message, remedy: 'Remove it; it is often invisible, so write the text anew.' }];
}

function toProblem(issue: z.core.$ZodIssue): FieldProblem {
  const [message = '', remedy = 'Correct this field and send the request again.'] = issue.message.split(' | ');
  return { path: ['input', ...issue.path.map(String)].join('.'), message, remedy };
}
