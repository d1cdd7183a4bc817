-- Puts the database of the service aside and makes an empty one in its place. Run by a superuser, after the service has
-- stopped:
--   psql postgres < replace-database.sql
\set ON_ERROR_STOP on
alter database stillcount rename to stillcount_before;
create database stillcount owner stillcount encoding 'UTF8' template template0;
revoke all on database stillcount from public;
\connect stillcount
revoke all on schema public from public;
alter schema public owner to stillcount;
