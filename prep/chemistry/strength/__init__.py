"""Strengths and densities: conversion, dilution, dissolving."""
