import { type ApolloServerPlugin } from '@apollo/server';
import {
  type DocumentNode,
  getNamedType,
  getVariableValues,
  GraphQLError,
  type GraphQLSchema,
  isListType,
  isNonNullType,
  type OperationDefinitionNode,
} from 'graphql';
import { type ComplexityEstimator, getComplexity } from 'graphql-query-complexity';
import { MAX_PAGE } from './connection.js';

/** Fields a document may ask for, lists counted as often as they can repeat: a page of 100 animals with a hundred fields each. */
export const MAX_COST = 10_000;

/** What a page holds when `first` is left out. */
const USUAL_PAGE = 20;
/** What a list that is bounded by nature usually holds: marks of an animal, items of a transfer. */
const USUAL_FEW = 3;

/** One a field; what stands inside a connection counts `first` times, inside another list a few times. */
const estimate: ComplexityEstimator = ({ field, args, childComplexity }) => {
  const { first } = args as { first?: unknown };
  if (getNamedType(field.type).name.endsWith('Connection')) {
    const times = typeof first === 'number' ? Math.min(Math.max(first, 1), MAX_PAGE) : USUAL_PAGE;
    return 1 + times * childComplexity;
  }
  const type = isNonNullType(field.type) ? field.type.ofType : field.type;
  // The edges of a connection were counted with it.
  return 1 + (isListType(type) && field.name !== 'edges' ? USUAL_FEW : 1) * childComplexity;
};

/** What a document is counted by. */
type Counted = {
  readonly schema: GraphQLSchema;
  readonly document: DocumentNode;
  readonly operation: OperationDefinitionNode | null | undefined;
  readonly operationName?: string | null | undefined;
  readonly variables: Record<string, unknown>;
};

/** What is wrong with a document that asks for too much, with its variables known; null when nothing is. */
export function costProblem({ schema, document, operation, operationName, variables }: Counted): GraphQLError | null {
  // Variables that do not fit cannot be counted with; the execution, which comes next, names every mistake in them.
  const { errors } = getVariableValues(schema, operation?.variableDefinitions ?? [], variables, { maxErrors: 1 });
  if (errors !== undefined) return null;
  const named = typeof operationName === 'string' ? { operationName } : {};
  const cost = getComplexity({ schema, query: document, variables, estimators: [estimate], ...named });
  if (cost <= MAX_COST) return null;
  return new GraphQLError(
    `This document asks for about ${cost} fields; ${MAX_COST} are allowed. Ask for fewer at a time.`,
    { extensions: { code: 'BAD_USER_INPUT', http: { status: 400 } } },
  );
}

/** Refuses a document that asks for too much: a rule of validation would not see `first` in a variable. */
export const documentCost: ApolloServerPlugin = {
  requestDidStart: () =>
    Promise.resolve({
      didResolveOperation: ({ schema, document, operation, request: { operationName, variables = {} } }) => {
        const problem = costProblem({ schema, document, operation, operationName, variables });
        if (problem !== null) throw problem;
        return Promise.resolve();
      },
    }),
};
