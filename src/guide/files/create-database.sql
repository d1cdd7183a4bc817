-- A role that owns one database and nothing else. Run by a superuser of the server, with the password as a variable:
--   psql --set=password="$PASSWORD" --file=create-database.sql postgres
\set ON_ERROR_STOP on
create role stillcount login password :'password'
  nosuperuser nocreatedb nocreaterole noreplication connection limit 30;
create database stillcount owner stillcount encoding 'UTF8' template template0;
revoke all on database stillcount from public;
\connect stillcount
revoke all on schema public from public;
alter schema public owner to stillcount;
