import { type FieldProblem } from '../../kernel/index.js';

/** Characters kept of what graphql-js says, which repeats the value that was sent. */
const MOST_WORDS = 300;

/**
 * The field graphql-js 16 complains of when a variable does not fit its type, which it says in words only:
 * `Variable "$input" got invalid value "x" at "input.on"; ...`. Null for any other message. Values stand in it with their
 * quotes escaped, so the first bare ` at "` is its own.
 */
export function variableProblem(message: string): FieldProblem | null {
  const [, name] = /^Variable "\$(\w+)" (?:got invalid value|of )/.exec(message) ?? [];
  if (name === undefined) return null;
  const at = / at "([\w.[\]]+)"; /.exec(message);
  const whole = message.lastIndexOf('; ');
  const words = at === null ? message.slice(whole < 0 ? 0 : whole + 2) : message.slice(at.index + at[0].length);
  const [, field] = /^Field "(\w+)" (?:of required type|is not defined)/.exec(words) ?? [];
  const path = [...(at?.[1] ?? name).replaceAll('[', '.').replaceAll(']', '').split('.'), ...(field ? [field] : [])];
  return {
    path: path.join('.'),
    message: words.length > MOST_WORDS ? `${words.slice(0, MOST_WORDS)}…` : words,
    remedy: 'Send a value of the type that the schema names for it.',
  };
}
