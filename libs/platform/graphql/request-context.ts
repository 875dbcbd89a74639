import { createParamDecorator, type ExecutionContext } from '@nestjs/common';
import { GqlExecutionContext } from '@nestjs/graphql';
import type DataLoader from 'dataloader';
import { unauthenticated, type Viewer } from '../../kernel/index.js';

/** The DataLoaders of one request, each made on first use, so that a batch never mixes two viewers. */
export class RequestLoaders {
  private readonly loaders = new Map<symbol, unknown>();

  get<K, V>(key: symbol, create: () => DataLoader<K, V>): DataLoader<K, V> {
    const existing = this.loaders.get(key) as DataLoader<K, V> | undefined;
    if (existing !== undefined) return existing;
    const made = create();
    this.loaders.set(key, made);
    return made;
  }
}

/** From where a request comes. */
export type Client = { readonly address: string; readonly device: string | null };

/** What every resolver of one request shares. */
export type RequestContext = {
  readonly viewer: Viewer | null;
  readonly requestId: string;
  readonly client: Client;
  readonly loaders: RequestLoaders;
};

const contextOf = (execution: ExecutionContext): RequestContext =>
  GqlExecutionContext.create(execution).getContext<RequestContext>();

/** Parameter: the signed-in viewer. */
export const CurrentViewer = createParamDecorator((_: unknown, execution: ExecutionContext): Viewer => {
  const { viewer } = contextOf(execution);
  if (viewer === null) throw unauthenticated();
  return viewer;
});

/** Parameter: the request's DataLoaders. */
export const Loaders = createParamDecorator(
  (_: unknown, execution: ExecutionContext): RequestLoaders => contextOf(execution).loaders,
);

/** Parameter: the request's id, for operations that need no sign-in. */
export const RequestId = createParamDecorator(
  (_: unknown, execution: ExecutionContext): string => contextOf(execution).requestId,
);

/** Parameter: from where the request comes, for what is limited or told by it. */
export const CurrentClient = createParamDecorator(
  (_: unknown, execution: ExecutionContext): Client => contextOf(execution).client,
);
