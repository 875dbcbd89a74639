import { type CanActivate, type ExecutionContext, Injectable, SetMetadata } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import { GqlExecutionContext, type GqlContextType } from '@nestjs/graphql';
import { unauthenticated } from '../../kernel/index.js';
import { type ActionName } from '../auth/actions.js';
import { type RequestContext } from './request-context.js';

/** Metadata key under which an operation's declaration stands. */
export const DECLARATION = 'kithbook:declaration';

/** What an operation declares: the action it is, or why anybody may ask it. */
export type Declaration = { readonly action: ActionName } | { readonly public: string };

/** Declares the action an operation is; only signed-in viewers get that far, and the use case asks the policy. */
export const Authorize = (action: ActionName) => SetMetadata(DECLARATION, { action } satisfies Declaration);

/** Declares that an operation needs no sign-in, and why. */
export const Public = (reason: string) => SetMetadata(DECLARATION, { public: reason } satisfies Declaration);

/** Lets an operation start only when its declaration allows it. Synchronous, because an async guard would break batching. */
@Injectable()
export class DeclarationGuard implements CanActivate {
  constructor(private readonly reflector: Reflector) {}

  canActivate(context: ExecutionContext): boolean {
    const declaration = this.reflector.get<Declaration | undefined>(DECLARATION, context.getHandler());
    if (declaration === undefined)
      throw new Error(`${context.getClass().name}.${context.getHandler().name} declares no action`);
    if ('public' in declaration) return true;
    const viewer =
      context.getType<GqlContextType>() === 'graphql'
        ? GqlExecutionContext.create(context).getContext<RequestContext>().viewer
        : context.switchToHttp().getRequest<{ viewer: unknown }>().viewer;
    if (viewer === null) throw unauthenticated();
    return true;
  }
}
