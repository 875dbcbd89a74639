import { randomUUID } from 'node:crypto';
import {
  createSourceEventStream,
  type DocumentNode,
  execute,
  type ExecutionArgs,
  type ExecutionResult,
  getOperationAST,
  getVariableValues,
  GraphQLError,
  type GraphQLSchema,
  OperationTypeNode,
  parse,
  specifiedRules,
  validate,
} from 'graphql';
import { type Viewer } from '../../kernel/index.js';
import { costProblem } from '../graphql/document-cost.js';
import { documentLimits, MAX_TOKENS } from '../graphql/document-limits.js';
import { type RequestContext, RequestLoaders } from '../graphql/request-context.js';

/** What came over a socket to be run. */
export type LivePayload = {
  readonly query: string;
  readonly operationName?: string | null | undefined;
  readonly variables?: Record<string, unknown> | null | undefined;
};

/** A fault of the request, as Apollo would mark it. */
const fault = ({ message, nodes }: GraphQLError): GraphQLError =>
  new GraphQLError(message, { nodes: nodes ?? null, extensions: { code: 'BAD_USER_INPUT' } });

/**
 * Holds a document that came over a socket against every limit that one by POST meets, before anything runs. Gives what is
 * wrong, or the arguments to run it with. Queries and mutations go by POST, where logs, limits and idempotency are.
 */
export function prepareLive(
  schema: GraphQLSchema,
  payload: LivePayload,
  contextValue: RequestContext,
): readonly GraphQLError[] | ExecutionArgs {
  const { query, operationName } = payload;
  const variables = payload.variables ?? {};
  let document: DocumentNode;
  try {
    document = parse(query, { maxTokens: MAX_TOKENS });
  } catch (error) {
    return [fault(error as GraphQLError)];
  }
  const invalid = validate(schema, document, [...specifiedRules, ...documentLimits]);
  if (invalid.length > 0) return invalid.map(fault);
  const operation = getOperationAST(document, operationName);
  if (operation?.operation !== OperationTypeNode.SUBSCRIPTION)
    return [fault(new GraphQLError('Only subscriptions go over the socket. Send queries and mutations by POST.'))];
  const cost = costProblem({ schema, document, operation, operationName, variables });
  if (cost !== null) return [cost];
  const { errors } = getVariableValues(schema, operation.variableDefinitions ?? [], variables);
  if (errors !== undefined) return errors.map(fault);
  return { schema, document, operationName: operationName ?? null, variableValues: variables, contextValue };
}

/**
 * Subscribes. Every event is answered like a request of its own: with the viewer as they are now, an id of its own and
 * loaders that remember nothing of the event before.
 */
export async function subscribeLive(
  args: ExecutionArgs,
): Promise<AsyncIterableIterator<ExecutionResult> | ExecutionResult> {
  const source = await createSourceEventStream(args);
  if (!(Symbol.asyncIterator in source)) return source;
  const events = source[Symbol.asyncIterator]();
  const first = args.contextValue as RequestContext;
  const answers: AsyncIterableIterator<ExecutionResult> = {
    [Symbol.asyncIterator]: () => answers,
    next: async () => {
      const step = await events.next();
      if (step.done === true) return { done: true, value: undefined };
      const { viewer } = step.value as { viewer: Viewer };
      const contextValue: RequestContext = { ...first, viewer, requestId: randomUUID(), loaders: new RequestLoaders() };
      return { done: false, value: await execute({ ...args, rootValue: step.value, contextValue }) };
    },
    return: async () => {
      await events.return?.();
      return { done: true, value: undefined };
    },
  };
  return answers;
}
