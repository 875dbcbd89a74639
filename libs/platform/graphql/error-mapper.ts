import { unwrapResolverError } from '@apollo/server/errors';
import { type GraphQLFormattedError } from 'graphql';
import { DomainError, type ErrorCode, invalidInput } from '../../kernel/index.js';
import { databaseRefusal } from '../prisma/database-error.js';
import { variableProblem } from './variable-problem.js';

/** Client errors Apollo itself raises before a resolver runs. Each is something wrong with the request. */
const REQUEST_FAULTS = new Set([
  'GRAPHQL_PARSE_FAILED',
  'GRAPHQL_VALIDATION_FAILED',
  'BAD_USER_INPUT',
  'BAD_REQUEST',
  'OPERATION_RESOLUTION_FAILURE',
  'PERSISTED_QUERY_NOT_FOUND',
  'PERSISTED_QUERY_NOT_SUPPORTED',
]);

/** What graphql-js says, without a code, of variables with more mistakes than it lists. */
const TOO_MANY_MISTAKES = 'Too many errors processing variables';

/** What the client gets of an error, and what the log gets when it is our own fault. */
export type MappedError = { readonly formatted: GraphQLFormattedError; readonly internal: unknown };

/** The one place where errors become GraphQL errors. Anything not foreseen is INTERNAL: an id and nothing else. */
export function mapError(formatted: GraphQLFormattedError, error: unknown): MappedError {
  const cause = unwrapResolverError(error);
  const known = cause instanceof DomainError ? cause : databaseRefusal(cause);
  const place = {
    ...(formatted.path === undefined ? {} : { path: formatted.path }),
    ...(formatted.locations === undefined ? {} : { locations: formatted.locations }),
  };
  if (known !== null) {
    return {
      formatted: {
        message: known.message,
        ...place,
        extensions: extensionsOf(known),
      },
      internal: null,
    };
  }
  if (
    REQUEST_FAULTS.has(String(formatted.extensions?.['code'])) ||
    (formatted.path === undefined && formatted.message.startsWith(TOO_MANY_MISTAKES))
  ) {
    const problem = variableProblem(formatted.message);
    const refusal = problem === null ? null : invalidInput([problem]);
    const extensions = refusal === null ? empty('INVALID_INPUT') : extensionsOf(refusal);
    return { formatted: { message: refusal?.message ?? formatted.message, ...place, extensions }, internal: null };
  }
  return {
    formatted: {
      message: 'Something went wrong on our side. Quote the requestId when you report it.',
      ...place,
      extensions: empty('INTERNAL'),
    },
    internal: cause,
  };
}

/** What a refusal carries besides its message; the same in GraphQL and REST. */
export function extensionsOf({ code, rule, fields, blockers }: DomainError): Record<string, unknown> {
  return { code, ...(rule === undefined ? {} : { rule }), fields, blockers };
}

function empty(code: ErrorCode): Record<string, unknown> {
  return { code, fields: [], blockers: [] };
}
