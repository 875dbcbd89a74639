import { type ArgumentsHost, Catch, type ExceptionFilter } from '@nestjs/common';
import { type GqlContextType } from '@nestjs/graphql';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { DomainError, type ErrorCode } from '../../kernel/index.js';

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

/** Answers an expected refusal without an entry in the error log. */
@Catch(DomainError)
export class DomainErrorFilter implements ExceptionFilter<DomainError> {
  catch(error: DomainError, host: ArgumentsHost): unknown {
    // graphql-js takes a returned Error for a failed field; the error mapper gives it its form.
    if (host.getType<GqlContextType>() === 'graphql') return error;
    const http = host.switchToHttp();
    const { code, message, rule, fields, blockers } = error;
    return http
      .getResponse<FastifyReply>()
      .status(STATUS[code])
      .send({ code, message, rule, fields, blockers, requestId: http.getRequest<FastifyRequest>().id });
  }
}
