import { maxAliasesRule } from '@escape.tech/graphql-armor-max-aliases';
import { maxDepthRule } from '@escape.tech/graphql-armor-max-depth';
import { GraphQLError, Kind, OperationTypeNode, type ValidationContext, type ValidationRule } from 'graphql';

/** Deepest nesting of a document. A pedigree is returned as a list, so nothing we answer needs more. */
export const MAX_DEPTH = 12;
/** Aliases in a document. */
export const MAX_ALIASES = 15;
/** Tokens a document may have before it is parsed any further. */
export const MAX_TOKENS = 2_000;

/** One operation a document: with two, logs, limits and idempotency could not say which one a request was. */
const singleOperation: ValidationRule = (context: ValidationContext) => ({
  Document(document) {
    const operations = document.definitions.filter((definition) => definition.kind === Kind.OPERATION_DEFINITION);
    if (operations.length > 1)
      context.reportError(new GraphQLError('Send one operation a document.', { nodes: operations }));
  },
});

/** One root field a mutation: each is one transaction, and half of two would be a surprise. */
const singleMutation: ValidationRule = (context: ValidationContext) => ({
  OperationDefinition(operation) {
    if (operation.operation !== OperationTypeNode.MUTATION) return;
    const { selections } = operation.selectionSet;
    if (selections.length > 1 || selections.some((selection) => selection.kind !== Kind.FIELD)) {
      context.reportError(new GraphQLError('Send one mutation field an operation.', { nodes: operation }));
    }
  },
});

/** A limit is reported like any other fault of the document; by default these rules throw, and the answer would be INTERNAL. */
const report = {
  propagateOnRejection: false,
  onReject: [(context: ValidationContext | null, error: GraphQLError) => context?.reportError(error)],
};

/** The limits every document is held against before anything runs. */
export const documentLimits: ValidationRule[] = [
  singleOperation,
  singleMutation,
  maxDepthRule({ n: MAX_DEPTH, ignoreIntrospection: true, ...report }),
  maxAliasesRule({ n: MAX_ALIASES, ...report }),
];
