import { type ArgumentsHost, Catch, HttpException } from '@nestjs/common';
import { BaseExceptionFilter } from '@nestjs/core';
import { type GqlContextType } from '@nestjs/graphql';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { DomainError, type ErrorCode, invalidInput } from '../../kernel/index.js';
import { databaseRefusal } from '../prisma/database-error.js';
import { extensionsOf } from './error-mapper.js';

/** HTTP status of each code, for the REST routes; GraphQL answers 200 and carries the code in `extensions`. */
const STATUS: Readonly<Record<ErrorCode, number>> = {
  UNAUTHENTICATED: 401,
  FORBIDDEN: 403,
  NOT_FOUND: 404,
  INVALID_INPUT: 400,
  RULE_REFUSED: 409,
  STALE_VERSION: 409,
  BUSY: 503,
  UNAVAILABLE: 503,
  RATE_LIMITED: 429,
  INTERNAL: 500,
};

/** Rules for which HTTP has a status of its own. */
const RULE_STATUS: Readonly<Record<string, number>> = {
  FILE_EMPTY: 400,
  FILE_TOO_LARGE: 413,
  FILE_TYPE_REFUSED: 415,
  FILE_TYPE_CONTRADICTED: 415,
};

/**
 * Answers an expected refusal, and a database that does not answer, without an entry in the error log; on REST routes with
 * the body a GraphQL error has. Anything else on a REST route is Nest's to log and answer.
 */
@Catch()
export class DomainErrorFilter extends BaseExceptionFilter {
  override catch(error: unknown, host: ArgumentsHost): unknown {
    // graphql-js takes a returned Error for a failed field; the error mapper gives it its form, and its log entry.
    if (host.getType<GqlContextType>() === 'graphql' && error instanceof Error) return error;
    const unread = unreadBody(error);
    const refusal = unread?.refusal ?? (error instanceof DomainError ? error : databaseRefusal(error));
    if (refusal === null) return super.catch(error, host);
    const http = host.switchToHttp();
    const { id: requestId } = http.getRequest<FastifyRequest>();
    return http
      .getResponse<FastifyReply>()
      .status(unread?.status ?? RULE_STATUS[refusal.rule ?? ''] ?? STATUS[refusal.code])
      .send({ errors: [{ message: refusal.message, extensions: { ...extensionsOf(refusal), requestId } }] });
  }
}

/** Statuses with which Fastify refuses a body before anybody reads it; Nest hands them on as bare HTTP exceptions. */
const UNREAD = new Set([400, 413, 415]);

/** What Fastify says of a body it does not read, as the refusal every client knows; null for any other error. */
function unreadBody(error: unknown): { status: number; refusal: DomainError } | null {
  if (!(error instanceof HttpException) || !UNREAD.has(error.getStatus())) return null;
  const status = error.getStatus();
  const remedy = status === 413 ? 'Send less at once.' : 'Send a whole body of the content type that is named.';
  return { status, refusal: invalidInput([{ path: 'body', message: error.message, remedy }]) };
}
