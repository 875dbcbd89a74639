import { Injectable, type OnModuleInit } from '@nestjs/common';
import { DiscoveryService, MetadataScanner } from '@nestjs/core';
import { DECLARATION } from './authorize.js';

// Metadata keys Nest itself writes: the kind of GraphQL operation, and the path of a REST handler.
const OPERATION = 'graphql:resolver_type';
const ROUTE = 'path';

/** Refuses to boot while any query, mutation or route declares neither an action nor that it is public. */
@Injectable()
export class DeclarationCheck implements OnModuleInit {
  constructor(
    private readonly discovery: DiscoveryService,
    private readonly scanner: MetadataScanner,
  ) {}

  onModuleInit(): void {
    const undeclared = undeclaredOperations(
      [...this.discovery.getProviders(), ...this.discovery.getControllers()].flatMap(({ instance }) =>
        typeof instance === 'object' && instance !== null ? [instance as object] : [],
      ),
      this.scanner,
    );
    if (undeclared.length > 0)
      throw new Error(`These operations declare neither @Authorize nor @Public: ${undeclared.join(', ')}`);
  }
}

/** Names (`Class.method`) of the operations of the given instances that carry no declaration. */
export function undeclaredOperations(instances: readonly object[], scanner: MetadataScanner): string[] {
  return instances.flatMap((instance) => {
    const prototype = Object.getPrototypeOf(instance) as Record<string, unknown>;
    return scanner
      .getAllMethodNames(prototype)
      .filter((name) => {
        const method = prototype[name];
        if (typeof method !== 'function') return false;
        const kind: unknown = Reflect.getMetadata(OPERATION, method);
        const isOperation = kind === 'Query' || kind === 'Mutation' || kind === 'Subscription';
        return (isOperation || Reflect.hasMetadata(ROUTE, method)) && !Reflect.hasMetadata(DECLARATION, method);
      })
      .map((name) => `${instance.constructor.name}.${name}`);
  });
}
