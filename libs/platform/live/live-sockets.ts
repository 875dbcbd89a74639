import { randomUUID } from 'node:crypto';
import { type IncomingMessage, type Server } from 'node:http';
import { type Duplex } from 'node:stream';
import { setTimeout as sleep } from 'node:timers/promises';
import { Inject, Injectable, Logger, type OnApplicationBootstrap, type OnModuleInit } from '@nestjs/common';
import { HttpAdapterHost, ModuleRef } from '@nestjs/core';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { type FastifyInstance } from 'fastify';
import { type ExecutionResult, type FormattedExecutionResult, GraphQLError, type GraphQLFormattedError } from 'graphql';
import { handleProtocols, makeServer, type Server as LiveServer } from 'graphql-ws';
import { type WebSocket, WebSocketServer } from 'ws';
import { DomainError } from '../../kernel/index.js';
import { AccessTokens } from '../auth/access-tokens.js';
import { mapError } from '../graphql/error-mapper.js';
import { RequestLoaders } from '../graphql/request-context.js';
import { RateLimits } from '../rate-limit/index.js';
import { type Announcement, Announcements, type Hearer } from './announcements.js';
import * as limit from './live-limits.js';
import { prepareLive, subscribeLive } from './live-operation.js';
import { LiveSocket } from './live-socket.js';
import { VIEWER_SOURCE, type ViewerSource } from './viewer-source.js';

const PATH = '/graphql';
/** Milliseconds clients have to answer a goodbye. */
const GOODBYE = 2_000;

type Params = { readonly authorization?: unknown };

/** Subscriptions over WebSocket (`graphql-transport-ws`), beside the POST that answers queries and mutations. */
@Injectable()
export class LiveSockets implements Hearer, OnApplicationBootstrap, OnModuleInit {
  private readonly logger = new Logger('live');
  private readonly open = new Set<LiveSocket>();
  private readonly wss = new WebSocketServer({ noServer: true, maxPayload: limit.MOST_BYTES, handleProtocols });
  private stopping = false;

  constructor(
    @Inject(HttpAdapterHost) private readonly host: HttpAdapterHost,
    private readonly modules: ModuleRef,
    @Inject(VIEWER_SOURCE) private readonly viewers: ViewerSource,
    private readonly tokens: AccessTokens,
    private readonly limits: RateLimits,
    announcements: Announcements,
  ) {
    announcements.add(this);
  }

  onModuleInit(): void {
    // Before the HTTP server closes, which waits for its sockets; GraphQL closes it before any other module is told to stop.
    this.adapter()
      ?.getInstance<FastifyInstance>()
      .addHook('preClose', () => this.leave());
  }

  onApplicationBootstrap(): void {
    const adapter = this.adapter();
    if (adapter === null) return;
    const server = this.graphqlServer();
    const http = adapter.getHttpServer() as Server;
    http.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) =>
      this.upgrade(server, request, socket, head),
    );
  }

  heard({ about, id }: Announcement): void {
    if (about !== 'session') return;
    for (const socket of this.open) if (socket.viewer?.sessionId === id) void socket.end(limit.CLOSED.sessionOver);
  }

  /** Sessions may have ended unheard. */
  gap(): void {
    for (const socket of this.open) void this.recheck(socket);
  }

  /** Null without HTTP: the demo loader builds the application for its use cases alone. */
  private adapter(): HttpAdapterHost['httpAdapter'] | null {
    return (this.host as { httpAdapter?: HttpAdapterHost['httpAdapter'] | null }).httpAdapter ?? null;
  }

  /** Says goodbye to everybody and takes nobody new. */
  private async leave(): Promise<void> {
    this.stopping = true;
    const ended = [...this.open].map((socket) => socket.end(limit.CLOSED.stopping));
    await Promise.race([Promise.all(ended), sleep(GOODBYE, undefined, { ref: false })]);
    for (const client of this.wss.clients) client.terminate();
    this.wss.close();
  }

  private async recheck(socket: LiveSocket): Promise<void> {
    if (socket.viewer === null) return;
    const now = await this.viewers.again(socket.viewer).catch(() => undefined);
    if (now === null) await socket.end(limit.CLOSED.sessionOver);
  }

  private upgrade(server: LiveServer<LiveSocket>, request: IncomingMessage, socket: Duplex, head: Buffer): void {
    const refusal =
      new URL(request.url ?? '/', 'http://any').pathname !== PATH
        ? '404 Not Found'
        : this.stopping || this.wss.clients.size >= limit.MOST_SOCKETS
          ? '503 Service Unavailable'
          : null;
    if (refusal !== null) {
      socket.end(`HTTP/1.1 ${refusal}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
      return;
    }
    this.wss.handleUpgrade(request, socket, head, (opened: WebSocket) => {
      const live = new LiveSocket(opened, request);
      this.open.add(live);
      const closed = server.opened(live, live);
      opened.once('close', (code, reason) => {
        this.open.delete(live);
        live.forget();
        void closed(code, reason.toString());
      });
    });
  }

  private graphqlServer(): LiveServer<LiveSocket> {
    const { schema } = this.modules.get(GraphQLSchemaHost, { strict: false });
    return makeServer<Params, LiveSocket>({
      connectionInitWaitTimeout: limit.GREETING_MS,
      onConnect: async ({ connectionParams, extra }) => this.admit(extra, connectionParams),
      onSubscribe: ({ extra, subscriptions }, _id, payload) => {
        if (Object.keys(subscriptions).length > limit.MOST_OPERATIONS) {
          const message = `A socket carries ${limit.MOST_OPERATIONS} subscriptions at most.`;
          return [new GraphQLError(message, { extensions: { code: 'BAD_USER_INPUT' } })];
        }
        return prepareLive(schema, payload, {
          viewer: extra.viewer,
          requestId: randomUUID(),
          client: { address: extra.address, device: extra.device },
          loaders: new RequestLoaders(),
        });
      },
      subscribe: subscribeLive,
      onError: (_context, _id, _payload, errors) => errors.map((error) => this.map(error)),
      onNext: (_context, _id, _payload, _args, result): FormattedExecutionResult => {
        const { errors, ...rest } = result as ExecutionResult;
        return errors === undefined ? rest : { ...rest, errors: errors.map((error) => this.map(error)) };
      },
    });
  }

  /** Whether a socket that has said who it is may stay. */
  private async admit(socket: LiveSocket, params: Params | undefined): Promise<boolean> {
    try {
      const authorization = params?.authorization;
      const given = typeof authorization === 'string' && authorization.length <= 4_096 ? authorization : '';
      const lapsesAt = this.tokens.lapsesAt(given.replace(/^Bearer /i, ''));
      const left = lapsesAt === null ? limit.LONGEST_MS : lapsesAt.getTime() - Date.now();
      if (left <= 0) return await socket.end(limit.CLOSED.lapsed);
      const viewer =
        given === '' ? null : await this.viewers.of({ id: randomUUID(), headers: { authorization: given } });
      if (viewer === null) return await socket.end(limit.CLOSED.noToken);
      await this.limits.take(limit.OPENED, viewer.accountId);
      const others = [...this.open].filter((other) => other.viewer?.accountId === viewer.accountId);
      if (others.length >= limit.MOST_SOCKETS_AN_ACCOUNT) return await socket.end(limit.CLOSED.tooMany);
      socket.belongTo(viewer, Math.min(left, limit.LONGEST_MS));
      return true;
    } catch (error) {
      const tooMany = error instanceof DomainError && error.code === 'RATE_LIMITED';
      if (!tooMany) this.logger.error(error instanceof Error ? error.stack : String(error));
      return socket.end(tooMany ? limit.CLOSED.tooMany : limit.CLOSED.trouble);
    }
  }

  private map(error: GraphQLError): GraphQLFormattedError {
    const requestId = randomUUID();
    const { formatted, internal } = mapError(error.toJSON(), error);
    if (internal !== null)
      this.logger.error(`live ${requestId}`, internal instanceof Error ? internal.stack : JSON.stringify(internal));
    return { ...formatted, extensions: { ...formatted.extensions, requestId } };
  }
}
