import { type ApolloServerPlugin } from '@apollo/server';
import { ApolloServerPluginCacheControlDisabled } from '@apollo/server/plugin/disabled';
import { ApolloDriver, type ApolloDriverConfig } from '@nestjs/apollo';
import { type DynamicModule, Logger, Module } from '@nestjs/common';
import { APP_FILTER, APP_GUARD, DiscoveryModule } from '@nestjs/core';
import { GraphQLModule } from '@nestjs/graphql';
import { type FastifyRequest } from 'fastify';
import '../auth/viewer-of.js';
import { DeclarationGuard } from './authorize.js';
import { DeclarationCheck } from './declaration-check.js';
import { DomainErrorFilter } from './domain-error.filter.js';
import { documentCost } from './document-cost.js';
import { documentLimits, MAX_TOKENS } from './document-limits.js';
import { mapError } from './error-mapper.js';
import { type RequestContext, RequestLoaders } from './request-context.js';
import { DayScalar } from './scalars.js';
import { UncertainDayInputScalar } from './uncertain-day-input.js';

const log = new Logger('GraphQL');

/** Puts the request's id on every error, so that a keeper can quote it and the operator find it in the log. */
const requestIds: ApolloServerPlugin<RequestContext> = {
  requestDidStart: () =>
    Promise.resolve({
      didEncounterErrors: ({ errors, contextValue }) => {
        for (const error of errors) {
          const { internal } = mapError(error.toJSON(), error);
          if (internal !== null)
            log.error(
              `request ${contextValue.requestId}`,
              internal instanceof Error ? internal.stack : JSON.stringify(internal),
            );
        }
        return Promise.resolve();
      },
      willSendResponse: ({ response, contextValue }) => {
        if (response.body.kind === 'single') {
          const { singleResult } = response.body;
          if (singleResult.errors !== undefined) {
            singleResult.errors = singleResult.errors.map((error) => ({
              ...error,
              extensions: { ...error.extensions, requestId: contextValue.requestId },
            }));
          }
        }
        return Promise.resolve();
      },
    }),
};

/** GraphQL over Apollo on Fastify, with our limits, errors and declarations. `schemaFile` writes the SDL there at boot. */
@Module({})
export class GraphqlPlumbingModule {
  static with(options: { schemaFile: string | true }): DynamicModule {
    return {
      module: GraphqlPlumbingModule,
      imports: [
        DiscoveryModule,
        GraphQLModule.forRoot<ApolloDriverConfig>({
          driver: ApolloDriver,
          autoSchemaFile: options.schemaFile,
          sortSchema: true,
          graphiql: false,
          introspection: true,
          csrfPrevention: true,
          includeStacktraceInErrorResponses: false,
          parseOptions: { maxTokens: MAX_TOKENS },
          validationRules: documentLimits,
          plugins: [ApolloServerPluginCacheControlDisabled(), documentCost, requestIds],
          context: (request: FastifyRequest): RequestContext => ({
            viewer: request.viewer,
            requestId: request.id,
            client: { address: request.ip, device: request.headers['user-agent']?.slice(0, 200) ?? null },
            loaders: new RequestLoaders(),
          }),
          formatError: (formatted, error) => mapError(formatted, error).formatted,
        }),
      ],
      providers: [
        DayScalar,
        UncertainDayInputScalar,
        DeclarationCheck,
        { provide: APP_GUARD, useClass: DeclarationGuard },
        { provide: APP_FILTER, useClass: DomainErrorFilter },
      ],
    };
  }
}
